"""Readings on PostgreSQL: kept once, averaged by the hour, counted by the minute, and looked at by the loop."""

from services.conftest import notebook  # noqa: F401
from services.test_temperature_ingest import (  # noqa: F401
    tank,
    test_a_revoked_token_writes_no_more_and_what_it_wrote_stays,
    test_a_token_is_kept_as_a_hash_and_its_use_is_noted,
    test_each_reading_has_its_own_verdict,
    test_sixty_requests_a_minute_and_no_more,
    token,
)
from services.test_temperature_keeping import (  # noqa: F401
    home,
    test_a_reading_is_kept_once_and_the_first_value_stays,
    test_hours_are_those_of_all_readings_at_once_however_they_came_in,
    test_hours_that_do_not_change_are_not_written,
    test_thermometers_tanks_and_households_have_instants_of_their_own,
    test_what_a_thermometer_has_is_counted,
)
from services.test_temperature_watching import (  # noqa: F401
    test_a_phone_is_told_to_ask_again_while_its_water_waits_to_be_looked_at,
    test_readings_that_flow_in_by_the_minute_make_one_revision_an_hour,
    test_too_warm_is_a_duty_of_the_tank_told_once_a_spell,
    test_what_is_left_out_is_told_and_a_keepers_word_brings_it_back,
    water,
)
