"""Whatever the forecast says, planning again changes nothing, and keys are never shared."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from domain.hold import local, look, mark, outlook, watched
from holdwatch.domain.duties import Prospects, planned

START = local(5, 0)
instants = st.integers(0, 30 * 24 * 60).map(lambda minutes: START + timedelta(minutes=minutes))
looks = st.builds(
    look,
    instants,
    light=st.sampled_from(["red", "daylight"]),
    mouth=st.sampled_from(["full", "normal", None]),
    loose_fry=st.sampled_from(["seen", "none", None]),
    recalled=st.booleans(),
)
marks = st.builds(
    mark,
    st.sampled_from(["taken", "done", "handed_back", "loose_fry_handled"]),
    st.sampled_from(["ada", "ben"]),
    instants,
    st.sampled_from(["catch:b1", "window:b1", "lost:b1", "look:b1:2026-11-22", "loose:b1:2026-11-22"]),
)


@st.composite
def forecasts(draw, now):
    """A forecast at `now`, or none."""
    if draw(st.integers(0, 5)) == 0:
        return None
    plain = outlook(now)
    holding = draw(st.sampled_from([0.0, 0.04, 0.5, 1.0]))
    return outlook(
        now,
        catch=draw(st.sampled_from([None, *(p.night for p in plain.nights[:6])])),
        hatch_q05=now + timedelta(hours=draw(st.integers(-100, 400))),
        hatch_q10=now + timedelta(hours=draw(st.integers(-100, 400))),
        lost=draw(st.sampled_from([0.0, 0.3, 0.5, 0.6, 0.7, 0.99])),
        nights=tuple(Prospects(p.night, holding) for p in plain.nights),
    )


@given(st.data(), st.lists(looks | marks, max_size=8), st.lists(instants, min_size=1, max_size=6))
def test_planning_again_changes_nothing(data, told, moments):
    standing: tuple = ()
    for now in sorted(moments):
        ended = data.draw(st.sampled_from([None, None, None, "caught", "mistake"]))
        forecast = data.draw(forecasts(now))
        plan = planned(watched(*told, ended=ended), forecast, standing, now)
        assert planned(watched(*told, ended=ended), forecast, plan, now) == plan
        keys = [duty.key for duty in plan]
        assert len(keys) == len(set(keys))
        assert all(duty.tell_at <= duty.due_at < duty.until_at for duty in plan)
        standing = plan
