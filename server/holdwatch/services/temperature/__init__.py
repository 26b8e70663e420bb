"""Temperature that is really there: readings from files and sensors, kept, judged, and handed on to what needs them."""

from .form import Choices, Form, Understood, understand
from .importing import (
    FILE_LIMIT_BYTES,
    PIECE_LIMIT_BYTES,
    Aim,
    Imported,
    Sifted,
    Spot,
    aim_at,
    keep_piece,
    parse_piece,
    preview_rows,
)
from .ingest import take_readings
from .local import Place
from .moving import told_development
from .tanks import require_keeper, tank_of
from .thermometers import thermometers_of
from .tokens import TooManyRequests, UnknownToken, make_token, revoke_token, sensor_of, tokens_of
from .watching import watch_water
from .water import used_points

__all__ = [
    "FILE_LIMIT_BYTES",
    "PIECE_LIMIT_BYTES",
    "Aim",
    "Choices",
    "Form",
    "Imported",
    "Place",
    "Sifted",
    "Spot",
    "TooManyRequests",
    "Understood",
    "UnknownToken",
    "aim_at",
    "keep_piece",
    "make_token",
    "parse_piece",
    "preview_rows",
    "require_keeper",
    "revoke_token",
    "sensor_of",
    "take_readings",
    "tank_of",
    "thermometers_of",
    "told_development",
    "tokens_of",
    "understand",
    "used_points",
    "watch_water",
]
