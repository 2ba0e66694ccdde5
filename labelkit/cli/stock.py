"""`labelkit stock`: what can be printed on."""

from __future__ import annotations

import json

import click

from labelkit.load.stock import all_stock, describe, find_stock


@click.command()
@click.argument("name", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def stock(name: str | None, as_json: bool) -> None:
    """List the stock there is, or show one by name.

    \b
    Example: labelkit stock a4-3x8-70x37
    """
    found = [find_stock(name)] if name else list(all_stock().values())
    if as_json:
        click.echo(json.dumps([describe(each) for each in found], indent=1, ensure_ascii=False))
    elif name:
        for key, value in describe(found[0]).items():
            click.echo(f"{key:12} {value}")
    else:
        for each in found:
            width, height = each.size_mm
            click.echo(f"{each.kind:9} {width:6g} x {height:<6g} mm  {each.name}")
