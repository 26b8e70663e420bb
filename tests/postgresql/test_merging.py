"""Merging on PostgreSQL, whose texts sort in the order of a language where nobody says otherwise."""

from services.test_sync_merging import *  # noqa: F403
