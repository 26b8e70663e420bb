"""A batch of young of our own invention, which tests bend as they need it."""

from __future__ import annotations

