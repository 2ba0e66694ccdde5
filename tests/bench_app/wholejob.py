"""One small job from the sign-in to the signature, as three people do it with their phones."""

from __future__ import annotations

from tests.bench_app.workshop import PUMP

# The pump with what its profile needs so that new parts can be ordered, and a play that is set with its side plate.
UNIT = PUMP.replace("    renew: always\n" if False else "  - id: seal", "  - id: seal") + """\
fits:
  rotor-play: {kind: end_play, target: ["0.04", "0.09"], set_by: side-plate, thicker: reduces,
    seat: [Turn the shaft ten times, Push it in and set the gauge to zero, "Pull it out, read"]}
"""
