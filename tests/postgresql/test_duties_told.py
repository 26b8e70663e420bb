"""Whom a duty is told to, on PostgreSQL: turns, moves, what was put off, quiet hours and the summary of a morning."""

from services.conftest import home, phones  # noqa: F401
from services.test_duties_mornings import (  # noqa: F401
    test_it_goes_by_mail_too_without_a_link_that_acts_and_is_in_no_calendar,
    test_quiet_hours_hold_it_back_and_who_left_gets_none,
    test_the_row_of_one_morning_goes_with_the_next,
    test_who_wants_one_gets_one_in_the_morning_with_what_is_theirs_and_everybodys,
)
from services.test_duties_news import (  # noqa: F401
    test_an_absence_that_is_corrected_or_taken_out_counts_as_it_stands,
    test_who_is_away_is_not_told_unless_he_has_taken_it_or_nobody_is_at_home,
    test_whoever_was_told_of_a_catch_is_told_to_hold_off_and_hears_of_it_again_on_its_night,
)
from services.test_duties_rota import (  # noqa: F401
    test_an_alarm_does_not_wait_for_a_sleep_behind_duties_that_tell_nobody,
    test_who_hears_within_two_hours_that_it_has_moved_is_not_asked_in_the_same_minute,
    test_who_puts_it_off_past_its_time_is_not_told_when_others_are,
    test_who_takes_it_early_and_puts_it_off_hears_of_it_when_he_said_and_when_it_is_time,
    test_whose_turn_it_is_hears_of_the_catch_first_and_an_hour_before_all_do,
)
