"""The first load stays small: a phone at the tank may have a thin line."""

from bench.bench_client import first_load_bytes

LIMIT_BYTES = 60_000


def test_entry_tonight_and_look_weigh_at_most_60_kilobytes_gzipped():
    weight = first_load_bytes()
    # The floor alone (the store, sync and the framework) cannot weigh less than this: the counting itself is sound.
    assert 25_000 < weight <= LIMIT_BYTES
