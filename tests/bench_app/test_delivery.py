"""What was said of a new part that came: what is asked before it is kept."""

from __future__ import annotations

from labelkit.bench.delivery import delivery
from labelkit.model.catalogue import NO_CATALOGUE
from tests.walk import Walk


def test_what_may_be_of_an_order_under_another_number_is_asked_about() -> None:
    """A revision changed the number while it was on its way: whoever opens the parcel looks at the piece."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    seal = walk.bin("input-seal")
    came = {"do": "both", "pieces": "1"}

    def asked(**more: str) -> str:
        return delivery(walk.record, seal.ordinal, came | more, NO_CATALOGUE).faults.get("accept", "")

    assert "" == asked()
    walk.do("ordered", number="OLD-1", pieces=1)
    assert "but of OLD-1, which no list has any more: look at the number on the piece" in asked()
    both = asked(**{"size-od": "20"})
    assert "but of OLD-1" in both
    assert "it differs" in both, "whoever accepts it has read both"
    assert "" == asked(accept="yes")
    walk.do("ordered", number=seal.part.number, pieces=1)
    assert "" == asked()
