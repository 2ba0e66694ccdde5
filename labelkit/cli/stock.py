"""`labelkit stock`: what can be printed on."""

from __future__ import annotations

import json

import click

from labelkit.errors import InputErrors
from labelkit.load.stock import all_stock, describe, find_stock, stock_faults
from labelkit.load.writer import stock_yaml
from labelkit.model.stock import LabelSheet


@click.command()
@click.argument("name", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def stock(name: str | None, as_json: bool) -> None:
    """List the stock there is, or show one by name.

    One is shown as a file that holds it: copy it into a folder layouts beside your jobs, rename the stock and change
    the figures.

    \b
    Example: labelkit stock a4-3x8-70x37
    """
    found = [find_stock(name)] if name else list(all_stock().values())
    if as_json:
        click.echo(json.dumps([describe(each) for each in found], indent=1, ensure_ascii=False))
    elif name:
        if isinstance(found[0], LabelSheet):
            width, height = found[0].page_size
            click.echo(f"# {found[0].per_page} on a sheet of {width:g} x {height:g} mm")
        click.echo(stock_yaml(found[0]), nl=False)
    else:
        for each in found:
            width, height = each.size_mm
            click.echo(f"{each.kind:9} {width:6g} x {height:<6g} mm  {each.name}")
    # What is sound is listed all the same: who looks for a stock need not correct another first.
    if not name and (faults := stock_faults()):
        raise InputErrors(faults)
