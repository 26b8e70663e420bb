"""Photos on PostgreSQL: counted piece by piece, kept once, and only as far as there is room."""

from services.test_photos import (  # noqa: F401
    cabinet,
    test_a_household_has_its_share_and_is_told_of_what_is_left,
    test_a_person_removed_meanwhile_sends_nothing_more,
    test_a_photo_in_pieces_is_kept_and_what_was_uploaded_is_gone,
    test_a_photo_that_is_there_may_be_sent_again_by_anybody,
    test_after_a_broken_line_it_goes_on_where_the_server_is,
    test_another_size_than_before_begins_anew,
    test_the_same_photo_of_two_households_lies_apart,
    test_two_phones_that_send_the_same_photo_at_once_make_one,
    test_what_is_refused_leaves_nothing_behind,
    test_what_nobody_goes_on_with_is_given_up_after_a_week,
)
