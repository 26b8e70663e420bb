"""Up to five phones: every copy ends equal, and nothing is lost, doubled or overruled in silence."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from sync.client_phone import ClientPhone, running_node
from sync.machine import SyncMachine
from sync.phone import PythonPhone

PROOF = bool(os.environ.get("HOLDWATCH_PROOF"))
HISTORIES = settings(
    max_examples=10_000 if PROOF else 100,
    stateful_step_count=80 if PROOF else 50,
    deadline=None,
    derandomize=not PROOF,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


@pytest.mark.timeout(24 * 3600 if PROOF else 300)
def test_phones_of_the_model_agree_whatever_happens(quick_engine):
    class ModelPhones(SyncMachine):
        def engine(self):
            return quick_engine

        def new_phone(self, number, who):
            return PythonPhone(self.world, f"phone00{number}", who.person_id)

    run_state_machine_as_test(ModelPhones, settings=HISTORIES)


@pytest.mark.timeout(24 * 3600 if PROOF else 300)
def test_phones_of_the_client_agree_with_each_other_and_with_those_of_the_model(quick_engine):
    with running_node() as node:

        class BothPhones(SyncMachine):
            def engine(self):
                return quick_engine

            def new_phone(self, number, who):
                if number == 2:
                    return PythonPhone(self.world, f"phone00{number}", who.person_id)
                return ClientPhone(node, self.world, who)

        run_state_machine_as_test(BothPhones, settings=settings(HISTORIES, max_examples=10_000 if PROOF else 25))
