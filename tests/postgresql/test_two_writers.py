"""Two phones push at once to PostgreSQL and a third pulls all the while: no revision is seen twice or skipped."""

from sync.test_two_writers import (  # noqa: F401
    test_a_reader_beside_two_writers_misses_nothing_and_sees_no_revision_twice,
    test_a_role_that_changes_all_the_while_judges_each_push_as_a_whole,
    test_revisions_follow_the_order_of_commits_even_while_one_transaction_waits_for_the_other,
)
