"""Ids of records against the published example."""

from uuid import UUID

from holdwatch.records.fields import ID
from holdwatch.records.ids import RANDOM_BITS, record_id


def test_the_example_of_the_standard_is_made():
    """RFC 9562, appendix A.6: Tuesday, February 22, 2022 2:22:22.00 PM GMT-05:00."""
    rand_a, rand_b = 0xCC3, 0x18C4DC0C0C07398F
    assert record_id(0x017F22E279B0, rand_a << 62 | rand_b) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


def test_every_id_is_one_that_a_record_may_have():
    for bits in (0, 1, (1 << RANDOM_BITS) - 1):
        made = record_id(1_764_061_800_000, bits)
        assert ID.fullmatch(made)
        assert UUID(made).version == 7
