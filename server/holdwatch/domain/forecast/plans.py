"""Two plans for one brood, compared: net him on the night, or move him ahead to sit alone until he lets them go.

Netting can fail: V(n) = p (saved(n) - c P(no young yet at n)) + (1 - p) (1 - l) V(n + 1), with the chance p that the
net gets him, the chance l that a failed try loses the brood, and what it costs the male, c, to be caught over eggs.
Moving him ahead, at around two thirds of the hold, risks the brood once; from then on what he lets go is safe from
tank mates: (1 - r) v_alone P(not lost by the first release, and not let go before).

Readings the page leaves open, decided here: trying again goes on through the whole table of nights; he is moved on the
first night at or after two thirds of the way from the median spawn to the median first release.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holdwatch.domain.catch import Night
from holdwatch.domain.forecast.belief import Belief
from holdwatch.domain.forecast.nights import NightChances, NightWorth
from holdwatch.domain.forecast.sample import weighted_median
from holdwatch.domain.species import Plans, Profile, Worth

NET, AHEAD = "net", "ahead"


@dataclass(frozen=True)
class Plan:
    """One plan: its way, the night it is carried out, the share it saves, the risk it adds, the people it needs."""

    way: str
    night: Night
    saved: float
    risk: float
    people: int


def plans_compared(
    belief: Belief,
    worths: Sequence[NightWorth],
    nights: Sequence[NightChances],
    catch: NightChances | None,
    company: str,
    profile: Profile,
) -> tuple[Plan, ...]:
    """Return the plans that are open, netting first; none without a night, or where he is never netted."""
    if catch is None or profile.plans is None:
        return ()
    ahead = _ahead(belief, worths, catch, profile.plans, profile.worth) if company != "alone" else None
    return (_net(nights, catch, profile.plans), *([ahead] if ahead else []))


def _net(nights: Sequence[NightChances], catch: NightChances, plans: Plans) -> Plan:
    value = 0.0
    for night in reversed([night for night in nights if night.at >= catch.at]):
        over_eggs = night.chances.eggs + night.chances.eyed
        caught = night.saved - plans.male_cost * over_eggs
        value = plans.net_succeeds * caught + (1 - plans.net_succeeds) * (1 - plans.failed_try_loses) * value
    risk = (1 - plans.net_succeeds) * plans.failed_try_loses
    return Plan(NET, Night(catch.night, catch.at), value, risk, int(plans.people_to_net))


def _ahead(
    belief: Belief, worths: Sequence[NightWorth], catch: NightChances, plans: Plans, worth: Worth
) -> Plan | None:
    spawned, released = (weighted_median(*belief.rising(step)) for step in ("spawn", "released"))
    due = spawned + plans.move_at_share * (released - spawned)
    move = next((night for night in worths if night.days >= due), None)
    if move is None or move.night.at > catch.at:
        return None
    still_in = 1 - belief.steps.share_let_go(move.days)
    kept = float(np.sum(belief.holding * belief.survival.at_release * still_in))
    saved = (1 - plans.move_risk) * worth.free_alone * kept
    return Plan(AHEAD, move.night, saved, plans.move_risk, int(plans.people_to_move))
