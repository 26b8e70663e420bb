"""Young in their nursery, on PostgreSQL."""

from services.conftest import home, notebook, phones, young  # noqa: F401
from services.test_nursery import (  # noqa: F401
    test_a_batch_that_is_over_owes_nothing_and_one_reopened_does_again,
    test_a_link_to_a_meal_does_it_by_a_mark,
    test_a_meal_is_told_when_it_is_time_and_not_to_anybody_once_it_was_given,
    test_a_meal_written_down_is_done_for_all,
    test_the_first_food_is_planned_with_the_forecast_and_done_by_what_is_set_going,
    test_the_tin_says_when_and_how_much_to_set_going_and_what_was_is_done,
)
