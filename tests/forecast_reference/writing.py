"""How values files are written."""

import json
from pathlib import Path


def write(path: Path, values: dict) -> None:
    """Write values as JSON, numbers to seven digits."""
    path.write_text(json.dumps(_shortened(values), indent=1, ensure_ascii=False) + "\n")


def _shortened(value):
    if isinstance(value, dict):
        return {key: _shortened(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_shortened(item) for item in value]
    return float(f"{value:.7g}") if isinstance(value, float) else value
