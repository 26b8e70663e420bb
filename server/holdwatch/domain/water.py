"""Ammonia in a nursery's water: how much of it harms, and how much water to change.

Shares of ammonia that are NH3: Clegg & Whitfield 1995 (Geochim. Cosmochim. Acta 59:2403-2421) on the free scale of pH,
per kg of water as published, near which meters and kits calibrated with NBS buffers lie; in fresh water Emerson et al.
1975 (J. Fish. Res. Board Can. 32:2379-2383). The changes of water are the mass balance of a well mixed vessel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import prod, sqrt

CAUTION_MG_L = 0.010
"""NH3-N from which there is cause to act: 0.01 to 0.025 mg/L by the larval literature (a tenth of the LC50)."""
ALARM_MG_L = 0.025
FRESH_BELOW_PSU = 1.0
KELVIN = 273.15
# What sea water in a tank usually is (common practice, no source); of its warmth the tank's set point says more.
USUAL = {"ph": 8.2, "temperature_c": 26.0, "salinity_psu": 35.0}
PH, TEMPERATURES_C, SALINITIES_PSU = (5.0, 10.0), (-2.0, 40.0), (0.0, 40.0)


def free_share(ph: float, temperature_c: float, salinity_psu: float) -> float:
    """The share of total ammonia that is NH3, 0 to 1: 1 / (1 + 10^(pK − pH)).

    `ValueError` outside of pH 5 to 10, −2 to 40 °C and 0 to 40 psu.
    """
    asked = {"pH": (ph, PH), "temperature": (temperature_c, TEMPERATURES_C), "salinity": (salinity_psu, SALINITIES_PSU)}
    for name, (value, (least, most)) in asked.items():
        if not least <= value <= most:
            raise ValueError(f"{name} must be between {least:g} and {most:g}, not {value:g}")
    kelvin = temperature_c + KELVIN
    pk = _pk_fresh(kelvin) if salinity_psu < FRESH_BELOW_PSU else _pk_sea(kelvin, salinity_psu)
    return 1 / (1 + 10 ** (pk - ph))


def _pk_fresh(kelvin: float) -> float:
    return 0.09018 + 2729.92 / kelvin


def _pk_sea(kelvin: float, s: float) -> float:
    return (
        9.244605
        - 2729.33 * (1 / 298.15 - 1 / kelvin)
        + (0.0500616 - 9.412696 / kelvin - 2.029559e-7 * kelvin**2) * sqrt(s)
        + (-0.0142372 + 1.46041e-5 * kelvin + 3.730005 / kelvin) * s
        + (7.1047e-5 - 0.0229021 / kelvin) * s**2
        + (-5.521278e-7 + 1.95413e-4 / kelvin) * s**3
    )


def free_ammonia(total_mg_l: float, ph: float, temperature_c: float, salinity_psu: float) -> float:
    """NH3-N in mg/L, of total ammonia-N in mg/L; `ValueError` as `free_share`."""
    return total_mg_l * free_share(ph, temperature_c, salinity_psu)


def share_to_reach(value: float, limit: float) -> float:
    """The share of the water to change at once that brings `value` down to `limit` by water that holds none."""
    return max(0.0, 1 - limit / value) if value > 0 else 0.0


def daily_share(excreted_mg_a_day: float, litres: float, limit_mg_l: float) -> float:
    """The share to change each day so that in the long run it stays at the limit just before each change, at most 1.

    Before the change C = E / (V·f) in the steady state.
    """
    return min(1.0, excreted_mg_a_day / (litres * limit_mg_l))


def excreted(
    before_mg_l: float, after_mg_l: float, changed_shares: Sequence[float], litres: float, days: float
) -> float:
    """What came in a day between two tests, mg/d, as if all changes had been made at the beginning of the time.

    C_after = C_before · Π(1 − f) + E·days / V. `ValueError` where litres or days are not above 0.
    """
    if not (litres > 0 and days > 0):
        raise ValueError("litres and days must be above 0")
    left = before_mg_l * prod(1 - share for share in changed_shares)
    return max(0.0, (after_mg_l - left) * litres / days)


@dataclass(frozen=True)
class WaterTest:
    """One test of water: total ammonia as N in mg/L, and what its share of NH3 depends on, as far as measured."""

    at: datetime
    ammonia_mg_l: float | None
    ph: float | None = None
    temperature_c: float | None = None
    salinity_psu: float | None = None

    def free_share(self, usual_c: float) -> float | None:
        """The share of NH3, with what was not measured taken as usual; None where it lies beyond what is known."""
        ph, c, psu = self._taken(usual_c).values()
        return free_share(ph, c, psu) if _is_known(ph, c, psu) else None

    def free_mg_l(self, usual_c: float) -> float | None:
        """NH3-N in mg/L; None where ammonia was not measured, or its share is not known."""
        share = self.free_share(usual_c)
        return None if share is None or self.ammonia_mg_l is None else self.ammonia_mg_l * share

    def assumed(self) -> list[str]:
        """What of it was not measured and is taken as usual."""
        return [name for name in USUAL if getattr(self, name) is None]

    def _taken(self, usual_c: float) -> dict[str, float]:
        usual = USUAL | {"temperature_c": usual_c}
        return {name: usual[name] if getattr(self, name) is None else getattr(self, name) for name in USUAL}


def _is_known(*measured: float) -> bool:
    within = zip(measured, (PH, TEMPERATURES_C, SALINITIES_PSU), strict=True)
    return all(least <= value <= most for value, (least, most) in within)
