"""The product asked about a brood in its JSON form, by the same door as `holdwatch forecast FILE`."""

import json
from pathlib import Path

from holdwatch.domain.forecast import Belief, believe, forecast, to_json
from holdwatch.forecast_file import read_brood


def told(document: dict, folder: Path) -> dict:
    """The product's forecast of a brood, as JSON."""
    return to_json(forecast(*read_brood(_written(document, folder))))


def believed(document: dict, folder: Path) -> Belief:
    """What the product believes of a brood."""
    return believe(*read_brood(_written(document, folder)))


def _written(document: dict, folder: Path) -> Path:
    path = folder / "brood.json"
    path.write_text(json.dumps(document))
    return path
