"""The queue on PostgreSQL: workers pass over what another one holds, and nothing is sent twice."""

from services.test_duties_workers import (  # noqa: F401
    home,
    test_a_round_whose_sending_takes_long_gives_the_other_work_its_turn,
    test_a_worker_killed_while_sending_loses_nothing_and_repeats_what_it_had_in_its_hands,
    test_a_worker_too_slow_for_its_lease_does_not_overwrite_the_next_one,
    test_two_workers_in_threads_send_each_message_once,
    test_two_workers_that_write_of_the_same_phones_never_wait_for_each_other_for_ever,
)
