"""The power below which the tube did not fire, told by patches that stayed bare at a dose that
frosts the glass elsewhere."""

from collections.abc import Sequence

import numpy as np

from engine.glass import Ends
from engine.strip.fit_power import doses_of
from engine.strip.fit_values import Value
from engine.strip.tube import evened
from shared.profile import GlassProfile
from shared.strip import Strip

BARE, FROSTED = 0.02, 0.07
"""Frost below and above which a patch was surely not, and was, burnt."""
LESS_DOSE = 0.06
"""Decades by which a frosted patch must have had less than one that stayed bare: reciprocity makes
less of it (virtual sheets)."""
SEVERAL = 2
"""Patches of either kind, so that a single blemish proves nothing."""


def floor_seen(
    strip: Strip, values: Sequence[Value], profile: GlassProfile, ends: Ends
) -> float | None:
    """The least power, %, at which a patch was frosted, where others of less power stayed bare
    although they had a greater dose; None where nothing tells of such a floor.

    profile: for the machine, whose own floor lies lower; ends: what frost 0 and 1 of the readings
    are in luminance.
    """
    doses = evened(doses_of(strip, values, profile, 0), ends)
    burnt = [strip.patches[number] for number in doses.patch]
    power = np.array([strip.runs[patch.run].power_pct(patch.fired) for patch in burnt])
    frosted, bare = doses.frost > FROSTED, doses.frost < BARE
    if frosted.sum() < SEVERAL:
        return None
    least = float(power[frosted].min())
    enough = np.sort(doses.log_fluence[frosted])[SEVERAL - 1] + LESS_DOSE
    idle = bare & (doses.log_fluence > enough)
    if idle.sum() < SEVERAL or power[idle].max() >= least:
        return None
    return float(np.floor(10.0 * least) / 10.0)
