"""Whatever a phone may send is judged on PostgreSQL as on SQLite, though the two keep different texts and numbers."""

from sync.test_hostile_changes import (  # noqa: F401
    engine,
    test_a_change_of_any_shape_is_judged_alone_and_the_rest_is_taken,
    test_another_households_records_can_neither_be_seen_nor_changed_nor_told_from_none,
    test_every_field_of_every_kind_refuses_what_it_cannot_be_and_the_rest_is_taken,
    test_peoples_own_words_are_kept_to_the_letter,
    visitors,
)
