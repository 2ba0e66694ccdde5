"""Pages from templates: what every page of the bench and every card has in common."""

from __future__ import annotations

from pathlib import Path

from labelkit.render.html import page


def test_a_figure_and_its_unit_stay_on_one_line_where_they_are_read(tmp_path: Path) -> None:
    """ISO 80000-1:2009, 7.1.4 (from memory): a blank parts them; lines end elsewhere. What is sent is as typed."""
    (tmp_path / "page.html").write_text(
        '<p title="{{ told }}">{{ told }}</p><input value="{{ told }}"><textarea>{{ told }}</textarea>'
        "<select><option>{{ told }}</option></select><b>5 inner, 5 kgs, step 5</b>",
        encoding="utf-8",
    )
    told = "22.5 mm, 30 N·m at 3 % & <80 °C>"
    plain = told.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    kept = plain
    for unit in ("mm", "N·m", "%", "°C"):
        kept = kept.replace(f" {unit}", f"\N{NO-BREAK SPACE}{unit}")

    assert page((tmp_path,), "page.html", told=told) == (
        f'<p title="{plain}">{kept}</p><input value="{plain}"><textarea>{plain}</textarea>'
        f"<select><option>{plain}</option></select><b>5 inner, 5 kgs, step 5</b>"
    )
