"""`labelkit fit`: the sums of readings, limits and fits; each kind is a command of its own."""

from __future__ import annotations

import importlib
from typing import Final

import click

from labelkit.cli.groups import ToldGroup
from labelkit.errors import UsageError, allowed_text

# Each kind loads when it is called. A new one is a module in cli/fits and a row here.
KINDS: Final = {
    "backlash": "labelkit.cli.fits.limit:backlash",
    "bushing": "labelkit.cli.fits.bushing:bushing",
    "clamping": "labelkit.cli.fits.torque:clamping",
    "clearance": "labelkit.cli.fits.clearance:clearance",
    "clock": "labelkit.cli.fits.clock:clock",
    "cone": "labelkit.cli.fits.wear:cone",
    "cover": "labelkit.cli.fits.spring:cover",
    "depth_gauge": "labelkit.cli.fits.depths:depth_gauge",
    "end_play": "labelkit.cli.fits.end_play:end_play",
    "gasket_shim": "labelkit.cli.fits.depths:gasket_shim",
    "heating": "labelkit.cli.fits.heating:heating",
    "limit": "labelkit.cli.fits.limit:limit",
    "passes": "labelkit.cli.fits.torque:passes",
    "plates": "labelkit.cli.fits.plates:plates",
    "preload": "labelkit.cli.fits.preload:preload",
    "readings": "labelkit.cli.fits.readings:readings",
    "release": "labelkit.cli.fits.spring:release",
    "retainer": "labelkit.cli.fits.depths:retainer",
    "rows": "labelkit.cli.fits.depths:rows",
    "series": "labelkit.cli.fits.series:series",
    "spring": "labelkit.cli.fits.spring:spring",
    "spring_load": "labelkit.cli.fits.spring:spring_load",
    "stack": "labelkit.cli.fits.stack:stack",
    "stackup": "labelkit.cli.fits.stackup:stackup",
    "step_gauge": "labelkit.cli.fits.clearance:step_gauge",
    "straightedge": "labelkit.cli.fits.depths:straightedge",
    "swap": "labelkit.cli.fits.clearance:swap",
    "teeth": "labelkit.cli.fits.teeth:teeth",
    "tightening": "labelkit.cli.fits.tightening:tightening",
    "torque": "labelkit.cli.fits.torque:torque",
    "torque_angle": "labelkit.cli.fits.torque:torque_angle",
    "wear": "labelkit.cli.fits.wear:wear",
}


class _Kinds(ToldGroup):
    """The kinds of fit; with --job, the fits of that job's profile by their names."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return sorted(KINDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in KINDS:
            return None
        module, _, name = KINDS[cmd_name].partition(":")
        command = getattr(importlib.import_module(module), name)
        return command if isinstance(command, click.Command) else None

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name, number = args[0], ctx.params.get("job")
        if number is None:
            if name not in KINDS:
                raise UsageError(f"fit {name}: there is no such kind; {allowed_text(name, KINDS, most=len(KINDS))}")
            return super().resolve_command(ctx, args)
        from labelkit.cli.fits.ofjob import defaults_of  # the store loads for jobs only

        kind, defaults = defaults_of(int(number), name)
        ctx.default_map = {name: defaults}
        return name, self.get_command(ctx, kind), args[1:]


@click.group(cls=_Kinds, invoke_without_command=True, no_args_is_help=True)
@click.option("--job", type=int, metavar="N", help="NAME is a fit of this job's profile, which fills in what it says.")
@click.pass_context
def fit(ctx: click.Context, job: int | None) -> None:
    """Work out a fit from its readings: which shim, plate or ring, and what it will then be.

    The sum is shown line by line, to be checked by hand. Lengths are in mm; write another unit behind the number, or
    --unit in. Exit status 1: nothing fits, the readings are refused, or it is out of limits.

    \b
    Example: labelkit fit end_play --reading 1.08 --reading 1.10 --reading 1.12 --fitted 2.60
               --target 0.40:0.60 --series 2.00:3.50:0.15 --thicker reduces
             labelkit fit --job 1 carrier-end-play --reading 1.08 --reading 1.10 --reading 1.12 --fitted 2.60
    """
    if ctx.invoked_subcommand is None:
        if job is None:
            ctx.fail("Missing command.")
        from labelkit.cli.fits.ofjob import no_fit_named  # the store loads for jobs only

        raise no_fit_named(job)
