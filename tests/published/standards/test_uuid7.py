"""UUID version 7 against the worked example of the standard, and the order that it promises.

[Davis2024]_, appendix A.6: 017F22E2-79B0-7CC3-98C4-DC0C0C07398F was made at 2022-02-22T19:22:22Z. Exact.
"""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from itertools import pairwise
from uuid import UUID, uuid4

import pytest

from service.usecases.uuid7 import Uuid7Generator, decode, encode, uuid7

pytestmark = pytest.mark.quick

EXAMPLE = UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")
EXAMPLE_MS = 1_645_557_742_000


def test_the_fields_of_the_standards_example_are_decoded():
    fields = decode(EXAMPLE)
    assert fields.unix_ts_ms == EXAMPLE_MS
    assert (fields.version, fields.variant) == (7, 0b10)
    assert fields.rand_a == 0xCC3
    assert fields.rand_b == 0x18C4DC0C0C07398F
    assert datetime.fromtimestamp(fields.unix_ts_ms / 1000, UTC) == datetime(
        2022, 2, 22, 19, 22, 22, tzinfo=UTC
    )


def test_the_standards_example_is_encoded_from_its_fields():
    assert encode(EXAMPLE_MS, 0xCC3 << 62 | 0x18C4DC0C0C07398F) == EXAMPLE


def test_a_generator_with_the_examples_clock_and_bits_makes_the_example():
    generator = Uuid7Generator(lambda: EXAMPLE_MS, lambda _: 0xCC3 << 62 | 0x18C4DC0C0C07398F)
    assert generator() == EXAMPLE


def test_identifiers_carry_version_7_the_variant_and_the_clocks_millisecond():
    ticks = iter(range(EXAMPLE_MS, EXAMPLE_MS + 200))
    generator = Uuid7Generator(lambda: next(ticks))
    made = [generator() for _ in range(200)]
    assert [decode(identifier).unix_ts_ms for identifier in made] == list(range(EXAMPLE_MS, EXAMPLE_MS + 200))
    assert {(identifier.version, identifier.variant) for identifier in made} == {(7, EXAMPLE.variant)}


def test_identifiers_of_one_millisecond_rise_strictly():
    generator = Uuid7Generator(lambda: EXAMPLE_MS)
    made = [generator() for _ in range(5000)]
    assert all(earlier < later for earlier, later in pairwise(made))


def test_identifiers_rise_while_the_clock_is_set_back():
    ticks = iter([EXAMPLE_MS, EXAMPLE_MS - 5000, EXAMPLE_MS - 1, EXAMPLE_MS, EXAMPLE_MS + 1])
    generator = Uuid7Generator(lambda: next(ticks))
    made = [generator() for _ in range(5)]
    assert made == sorted(set(made))
    assert [decode(identifier).unix_ts_ms - EXAMPLE_MS for identifier in made[1:3]] == [0, 0]


def test_a_random_part_that_runs_over_takes_the_next_millisecond():
    bits = iter([2**74 - 1, 0, 5])
    generator = Uuid7Generator(lambda: EXAMPLE_MS, lambda _: next(bits))
    first, second = generator(), generator()
    assert first < second
    assert (decode(second).unix_ts_ms, decode(second).rand_b) == (EXAMPLE_MS + 1, 5)


def test_many_threads_never_get_the_same_identifier_and_each_sees_a_rising_row():
    with ThreadPoolExecutor(8) as pool:
        rows = list(pool.map(lambda _: [uuid7() for _ in range(500)], range(8)))
    assert len({identifier for row in rows for identifier in row}) == 8 * 500
    assert all(row == sorted(row) for row in rows)


def test_identifiers_of_two_generators_differ_in_the_same_millisecond():
    one, other = (Uuid7Generator(lambda: EXAMPLE_MS)() for _ in range(2))
    assert one != other


def test_an_identifier_of_another_version_is_refused():
    with pytest.raises(ValueError, match="not a UUID of version 7"):
        decode(uuid4())


@pytest.mark.parametrize(("ms", "random"), [(-1, 0), (2**48, 0), (0, 2**74), (0, -1)])
def test_fields_that_do_not_fit_are_refused(ms, random):
    with pytest.raises(ValueError, match="48 bits"):
        encode(ms, random)
