"""The card that a scan opens."""

from __future__ import annotations

from flask import Flask, Response, jsonify, url_for

from labelkit.bench.web import Bench
from labelkit.calc.steps import Bin
from labelkit.sheets.cardpages import TRIANGLE, entry
from labelkit.sheets.cards import card, card_data
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import read_scan


def add_cards(app: Flask, bench: Bench) -> None:
    """Add the page of a card and its data."""

    @app.get("/<code>")
    def show(code: str) -> str:
        view, found = bench.find(code)
        photo = url_for("photo", code=view.code(found)) if found.part.photo else None
        return bench.fill(
            "card_page.html",
            title=f"{found.step} {found.name}",
            entry=entry(view, found, photo, view.new_part(read_scan(code))),
            neighbours=_neighbours(view, found),
            job=view.job.number,
            triangle=TRIANGLE,
            href=lambda code: f"/{code}",
        )

    @app.get("/<code>.json")
    def data(code: str) -> Response:
        view, found = bench.find(code)
        return jsonify(card_data(card(view, found, view.new_part(read_scan(code)))))


def _neighbours(view: JobView, found: Bin) -> tuple[tuple[str, str, str], ...]:
    bins = view.teardown.bins
    place = bins.index(found)
    around = (("Back", place - 1), ("Next out", place + 1))
    return tuple(
        (label, view.code(bins[k]), f"step {bins[k].step}{'?' * bins[k].doubtful}")
        for label, k in around
        if 0 <= k < len(bins)
    )
