"""A tube whose watts do not begin at 0 %: told by runs of different speed, and evened out.

A gas tube gives light from a threshold on, and then in a straight line, so that its watts are in
proportion to the percent less an offset. Doses of other runs are told as the percent of the chosen
run's speed that lays as much; its own stay as they are, so the profile holds for its setting.
"""

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.glass import Ends
from engine.strip.fit_power import MOST_RECIPROCITY, Dose, below_flaking, tones_told
from engine.strip.fit_shape import first_guess, least, standard_errors, weibull
from engine.strip.fit_values import tone_of

Doubles = NDArray[np.float64]

SURE = 4.0
"""Standard errors by which an offset must show."""
SAVES = 0.6
"""Share of the misfit that is left with it, so that it is believed: straight tubes keep more
(virtual sheets)."""
_DIFFERENT, _FIGURES, _SPARE = 0.02, 7, 6


def evened(doses: Dose, ends: Ends) -> Dose:
    """The same readings, each at the fluence by which the chosen run's tube lays as much.

    ends: what frost 0 and 1 of the readings are in luminance. Nothing changes where all runs have
    one speed, and where the strip does not show an offset beyond doubt.
    """
    whole = below_flaking(doses)
    if len(whole) < _FIGURES + _SPARE or np.ptp(whole.log_speed) < _DIFFERENT:
        return doses
    tones, errors = tones_told(whole, ends)

    def apart(figures: Doubles) -> Doubles:
        logs = _moved(whole, figures[6]) + figures[5] * whole.log_speed
        return np.asarray((tone_of(weibull(logs, *figures[:5]), ends) - tones) / errors)

    start = [*first_guess(whole.log_fluence, whole.frost), 0.0]
    reciprocity = (-MOST_RECIPROCITY, MOST_RECIPROCITY)
    most = 0.9 * float((10.0 ** (doses.log_fluence + doses.log_speed)).min())
    straight = least(lambda figures: apart(np.append(figures, 0.0)), start, reciprocity)
    found = least(apart, [*straight.x, 0.2 * most], reciprocity, (0.0, most))
    error = standard_errors(found, len(whole))[6]
    if found.x[6] < SURE * error or found.cost > SAVES * straight.cost:
        return doses
    return attrs.evolve(doses, log_fluence=_moved(doses, float(found.x[6])))


def _moved(doses: Dose, offset_j_mm2: float) -> Doubles:
    """log10 fluence at the chosen speed. The offset is a fluence at that speed; a faster line loses
    less by it."""
    lost = offset_j_mm2 * (10.0**-doses.log_speed - 1.0)
    return np.log10(np.maximum(10.0**doses.log_fluence - lost, 1e-6))
