"""Which night an instant belongs to, by the vectors that the client's tests read too."""

from __future__ import annotations

import json
from datetime import date, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from holdwatch.domain.catch import lamps_on_instant, lamps_out_instant, nights_ahead
from holdwatch.domain.duties import Lamps

VECTORS = json.loads((Path(__file__).parents[1] / "night_vectors.json").read_text("utf-8"))["nights"]


@pytest.mark.parametrize("vector", VECTORS, ids=[f"{one['lamps_out']} {one['at']}" for one in VECTORS])
def test_duties_and_the_forecast_mean_the_same_night_as_the_phone(vector):
    zone = ZoneInfo(vector["zone"])
    out, on = time.fromisoformat(vector["lamps_out"]), time.fromisoformat(vector["lamps_on"])
    at, night = datetime.fromisoformat(vector["at"]), date.fromisoformat(vector["night"])
    assert Lamps(zone, out, on).night_of(at) == nights_ahead(at, zone, out, on)[0].date == night
    assert lamps_out_instant(night, zone, out) == datetime.fromisoformat(vector["out"])
    assert lamps_on_instant(night, zone, out, on) == datetime.fromisoformat(vector["on"])
