"""What was measured on new parts, as the line that the record keeps."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.measured import OWN_WORDS, SIZE_WORDS, measured_sizes, measured_text, size_word
from labelkit.errors import UsageError
from labelkit.model.form import FORMS
from labelkit.model.hardwareform import Bolt, Screw, Threaded
from labelkit.units import Quantity
from tests.figures import q

LENGTHS = st.decimals("0.01", "999.99", places=2).map(lambda value: Quantity(value, "mm"))


@given(st.lists(LENGTHS, min_size=1, max_size=3), st.integers(1, 300))
@settings(max_examples=50)
def test_the_line_of_the_record_reads_back(lengths: list[Quantity], teeth: int) -> None:
    """Figures keep their zeros; equal ones are written once."""
    alike = len({each.value for each in lengths}) == 1

    read = measured_sizes(measured_text({"t": tuple(lengths), "teeth": teeth}))

    assert {"t": tuple(lengths[:1] if alike else lengths), "teeth": teeth} == read


def test_more_figures_than_the_line_has_room_for_are_refused() -> None:
    """Nothing is cut off; a line that somebody wrote in words says nothing and breaks nothing."""
    with pytest.raises(UsageError, match="2000 letters"):
        measured_text({"t": tuple(q(f"2.{number}") for number in range(100, 600))})
    assert {} == measured_sizes("t about right; t NaN mm; od NaN; teeth many; x")


def test_threads_and_what_is_under_a_head_are_called_so_of_every_form_that_has_them() -> None:
    """As the model says of the family: no screw of it is measured over its head. Other words are of sizes there are."""
    screws, threads = ({k for k, form in FORMS.items() if issubclass(form, of)} for of in (Screw, Threaded))

    assert {"length under the head"} == {OWN_WORDS.get((kind, "l")) for kind in screws}
    assert {"thread diameter"} == {OWN_WORDS.get((kind, "d")) for kind in threads}
    assert "length with the head" == size_word(Bolt(d=q("8"), l=q("30"), head="countersunk"), "l")  # ISO 10642
    assert all(name in SIZE_WORDS and name in FORMS[kind].model_fields for kind, name in OWN_WORDS)
