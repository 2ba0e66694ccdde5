"""How trays are laid out, as a job remembers it."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.load.stock import find_stock
from labelkit.model.laying import DEFAULT_LAYING, Laying, Spacing, TrayKind
from labelkit.model.stock import Tray

lengths = st.floats(0, 1200, allow_nan=False)
kinds = st.builds(
    TrayKind,
    name=st.from_regex(r"tray-[a-z0-9-]{1,20}", fullmatch=True),
    size_mm=st.tuples(lengths, lengths),
    limit=st.decimals(0, 500, places=3),
)
layings = st.builds(
    Laying,
    trays=st.lists(kinds, min_size=1, max_size=4).map(tuple),
    spacing=st.builds(Spacing, lengths, st.tuples(lengths, lengths), lengths),
    grade=st.integers(0, 2),
    keep_whole=st.booleans(),
)


@given(layings)
@settings(max_examples=40, deadline=None)
def test_what_a_job_keeps_is_what_it_was(laying: Laying) -> None:
    """Through the store's JSON and back, to the last digit: the same layout comes out years later."""
    assert Laying.of_plain(json.loads(json.dumps(laying.plain()))) == laying


def test_a_mass_limit_keeps_its_digits() -> None:
    """It is a decimal, not a float: 7.1 kg is 7.1 kg."""
    kind = TrayKind("tray-a", (600.0, 400.0), Decimal("7.10"))

    assert str(Laying.of_plain(json.loads(json.dumps(Laying((kind,)).plain()))).trays[0].limit) == "7.10"


def test_the_kind_of_a_tray_outlives_the_stock() -> None:
    """Name, inside and limit are taken over from the stock."""
    stock = find_stock("tray-200x150", ("tray",))
    assert isinstance(stock, Tray)

    assert TrayKind.of(stock) == TrayKind("tray-200x150", (200.0, 150.0), Decimal(5))


def test_the_usual_tray_is_in_the_stock() -> None:
    """Who says nothing of trays gets one that --tray would name, by its own figures."""
    (kind,) = DEFAULT_LAYING.trays
    stock = find_stock(kind.name, ("tray",))
    assert isinstance(stock, Tray)

    assert kind == TrayKind.of(stock)


@pytest.mark.parametrize(("field", "usual"), [("gap", 8.0), ("flag", (30.0, 15.0)), ("flag_gap", 2.0)])
def test_the_usual_distances(field: str, usual: object) -> None:
    """8 mm between things, flags of 30 x 15 mm, 2 mm from their parts. Source: common practice, no source."""
    assert getattr(DEFAULT_LAYING.spacing, field) == usual


def test_a_laying_can_be_kept_in_a_set() -> None:
    """Frozen to the last field: equal ones are one."""
    assert len({Laying(DEFAULT_LAYING.trays), DEFAULT_LAYING}) == 1
