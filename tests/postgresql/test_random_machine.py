"""The random machine on PostgreSQL: fewer histories than on SQLite, for each statement is a round trip there."""

from __future__ import annotations

import os

import pytest
import sqlalchemy as sa
from hypothesis import settings
from hypothesis.stateful import run_state_machine_as_test

from sync.client_phone import ClientPhone, running_node
from sync.machine import SyncMachine
from sync.phone import PythonPhone
from sync.test_random_machine import HISTORIES

PROOF = bool(os.environ.get("HOLDWATCH_PROOF"))


@pytest.mark.timeout(24 * 3600 if PROOF else 300)
def test_phones_of_both_makes_agree_whatever_happens(engine: sa.Engine):
    with running_node() as node:

        class BothPhones(SyncMachine):
            def engine(self):
                return engine

            def new_phone(self, number, who):
                if number % 2:
                    return PythonPhone(self.world, f"phone00{number}", who.person_id)
                return ClientPhone(node, self.world, who)

        run_state_machine_as_test(BothPhones, settings=settings(HISTORIES, max_examples=500 if PROOF else 12))
