"""The past of records on PostgreSQL, whose window functions and orders of texts are its own."""

from services.test_history import *  # noqa: F403
