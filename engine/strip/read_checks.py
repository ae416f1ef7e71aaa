"""What makes a photograph unfit to be measured, and which patches are left out."""

import numpy as np
from numpy.typing import NDArray

from engine.strip.even import Light, Values
from engine.strip.read_edges import Edges
from engine.strip.read_patches import LEAST_PIXELS, Bare, Field
from engine.strip.rectify import Shot
from engine.strip.refuse import Refusal
from engine.strip.refuse_photo import is_squeezed
from engine.strip.robust import spread
from engine.strip.style import MOST_STRENGTH, Style
from engine.strip.veil import Veil
from shared.strip import Box, Patch, Strip

CLIPPED_AT = 253.5 / 255.0
MOST_CLIPPED, MOST_CLIPPED_CELL = 0.02, 0.001
LEAST_FROSTED = 0.4
"""Share of the lightest solid patches' light below which one tells nothing: its setting is weak."""
LIGHT_RUN = 0.6
"""Share of the lightest setting's solid patches that others must have to tell of the photo."""
AS_CALM = 1.5
"""Times as uneven as the most even setting, up to which one is as even."""
SPECKLED = 3
"""Patches of dots or lines with single pixels at white, where no other patch has any: sharpening
makes them, a reflection would lie on all kinds."""
MANY_CLIPPED = 0.3
"""Share of solid patches at white that no reflection explains, since solids lie all over."""
LEAST_SOLID = 0.06
"""Linear light of solid patches below which 8 bits and the noise leave too few steps."""
SAFE_SOLID = 0.82
"""Linear light of solid patches below which none of them reaches white by itself."""
LEAST_CONTRAST = 2.5
"""Of solid patches to bare glass; the palest frost on black has about four (virtual sheets)."""
MOST_GRAIN = 0.15
"""Standard deviation over mean of a solid patch's pixels."""
MOST_BLUR_MM = 0.26
MOST_SHIFT_MM = 0.3
MOST_MISFIT = 0.03
"""A double image gives the edges of solids another shape than one step's."""
OVER_SHARE = 0.3
"""Of a misfit, from which on it is a light rim and a dark one beside the edge, as sharpening leaves
them: half of the misfit; a double image makes a tenth (virtual photos)."""
LEAST_STEP = 0.88
"""Light that no smooth surface follows leaves patches' edges lower or higher than 1."""
GLARE_ON_PATCH, GLARE_AROUND, GLARE_ANYWHERE, GLARE_TILES = 0.03, 0.25, 0.15, 3
NEAR_MM = 3.5
SHADOW, READABLE, MOST_UNDER = 0.7, 0.008, 0.03
"""Bare glass below this share of what is expected lies in a shadow, if it is light enough to
tell."""
MOST_SPREAD, SUSPICIOUS_SPREAD = 0.03, 0.011
"""Of patches burnt alike after evening out, as a robust standard deviation of their frost; the
lesser one counts when neighbours are off together, as they are at a shadow's edge."""
TOGETHER = 0.25
"""Correlation of what patches are off with what their neighbours are off."""
SHADED_SPREAD, SHADED_TOGETHER = 0.006, 0.2
"""The same for patches that are off in step with the bare glass beside them."""
_BESIDE, _MOST_OFF_STEP = 12, 0.4
MOST_UNEVEN = 0.15
"""Of bare glass against frost, as in engine.strip.veil.Veil; without a reflection it stays below
0.03 (virtual photos)."""
MOST_GAIN_RATIO = 4.5
MOST_OFF = 0.09
MOST_LEFT_OUT = 0.15
MOST_ERROR = 0.008

CLIPPED = "burnt out to white in the photo"
SMALL = "too few pixels"
ODD = "differs too much from patches burnt alike"


def check_exposure(patches: tuple[Patch, ...], fields: list[Field]) -> None:
    """Raises Refusal for a photo that is too dark, burnt out, flat or of another strip."""
    kinds = np.array([patch.kind for patch in patches])
    level = np.array([field.level for field in fields])
    bare, solid = level[kinds == "bare"], level[kinds == "solid"]
    if not np.isfinite(bare).any() or not np.isfinite(solid).any():
        raise Refusal("wrong_strip")
    frosted = solid[solid > LEAST_FROSTED * np.nanquantile(solid, 0.9)]
    white = np.array([_white(field) for field in fields])
    clipped = white > MOST_CLIPPED
    if np.nanmedian(bare) < np.median(frosted) < LEAST_SOLID:
        raise Refusal("dark")
    if _unevenness([fields[n] for n in calm_solids(patches, fields)]) > MOST_GRAIN:
        raise Refusal("noisy")
    if clipped[kinds == "solid"].mean() > MANY_CLIPPED:
        raise Refusal("clipped")
    if clipped[kinds != "lines"].any():
        safe = solid[~clipped[kinds == "solid"]]
        if safe.size and safe.max() < SAFE_SOLID:
            dotted = np.isin(kinds[clipped], ("screen", "lines")).all()
            speckled = clipped.sum() >= SPECKLED and white.max() < 0.5 and dotted
            raise Refusal("sharpened" if speckled else "glare")
        if clipped.mean() > 0.1 or clipped[kinds == "solid"].mean() > 0.1:
            raise Refusal("clipped")
    if np.mean(bare[:, None] < frosted[None, :]) < 0.85:
        raise Refusal("wrong_strip")
    if np.median(frosted) < LEAST_CONTRAST * np.nanmedian(bare):
        raise Refusal("veiled")


def check_style(style: Style, *, measured: bool) -> None:
    """Raises Refusal for a picture style so strong that too much of it would be left, or one that
    is left although the camera's tones were measured."""
    if measured:
        raise Refusal("unlike")
    if abs(style.strength) > MOST_STRENGTH:
        raise Refusal("styled")


def calm_solids(patches: tuple[Patch, ...], fields: list[Field]) -> list[int]:
    """The solids of the most even settings, for they tell of the photo alone: where a setting is
    so strong that frost flakes, ragged patches are no fault of the photo. Those of settings that
    frost little, or that flaked altogether, tell nothing."""
    runs: dict[int, list[int]] = {}
    for n, patch in enumerate(patches):
        if patch.kind == "solid" and fields[n].pixels:
            runs.setdefault(patch.run, []).append(n)
    light = {run: float(np.nanmedian([fields[n].level for n in own])) for run, own in runs.items()}
    least = LIGHT_RUN * max(light.values())
    ragged = {
        run: _unevenness([fields[n] for n in own])
        for run, own in runs.items()
        if light[run] >= least
    }
    most = AS_CALM * min(ragged.values())
    return [n for run, uneven in ragged.items() if uneven <= most for n in runs[run]]


def _unevenness(fields: list[Field]) -> float:
    """Standard deviation over mean of their pixels, the median."""
    levels = [field.samples.level for field in fields]
    return float(np.nanmedian([level.std() / level.mean() for level in levels]))


def check_cells(shot: Shot, strip: Strip, fields: list[Field]) -> None:
    """Raises Refusal for a lamp's reflection on a cell, where no patch tells of it."""
    kinds = [patch.kind for patch in strip.patches]
    solid = [f.level for f, k in zip(fields, kinds, strict=True) if k == "solid"]
    if max(solid) > SAFE_SOLID:
        return
    for cell in strip.cells:
        if np.mean(shot.samples(cell.box, 0.0).brightest >= CLIPPED_AT) > MOST_CLIPPED_CELL:
            raise Refusal("glare")


def is_clipped(field: Field) -> bool:
    """Whether too many pixels of a patch are as light as the file can hold."""
    return _white(field) > MOST_CLIPPED


def _white(field: Field) -> float:
    return float(np.mean(field.samples.brightest >= CLIPPED_AT))


def check_edges(found: Edges, grey: NDArray[np.uint8]) -> None:
    """Raises Refusal for a blurred, double or sharpened image, or patches that are not where they
    should. grey: the photo as encoded, rows x columns."""
    x, y = found.across_x_mm, found.across_y_mm
    if found.misfit > MOST_MISFIT and is_squeezed(grey):
        raise Refusal("squeezed")
    if found.misfit > MOST_MISFIT:
        raise Refusal("sharpened" if found.over > OVER_SHARE * found.misfit else "moved")
    if max(x, y) > MOST_BLUR_MM:
        raise Refusal("moved" if max(x, y) > 1.5 * min(x, y) else "blurred")
    if found.shift_mm > MOST_SHIFT_MM:
        raise Refusal("distorted")


def check_glare(strip: Strip, light: Light, bare: Bare) -> None:
    """Raises Refusal for a reflection, which lifts the bare glass it lies on."""
    over = bare.over / light.gain(bare.x_mm, bare.y_mm)
    if (over > GLARE_ANYWHERE).sum() >= GLARE_TILES:
        raise Refusal("glare")
    for box in _measured(strip):
        beside = _beside(box, bare)
        if beside.any() and np.mean(over[beside] > GLARE_ON_PATCH) > GLARE_AROUND:
            raise Refusal("glare")


def check_bare(veil: Veil) -> None:
    """Raises Refusal for a reflection so wide that it lifts bare glass smoothly."""
    if veil.uneven > MOST_UNEVEN:
        raise Refusal("glare")


def check_light(strip: Strip, light: Light, bare: Bare, found: Edges) -> None:
    """Raises Refusal for shadows and for light too uneven to be evened out."""
    if found.step < LEAST_STEP:
        raise Refusal("uneven")
    dark = light.dark(bare.x_mm, bare.y_mm)
    under = (bare.level < SHADOW * dark) & (dark > READABLE)
    if under.mean() > MOST_UNDER:
        raise Refusal("uneven")
    for box in _measured(strip):
        beside = _beside(box, bare)
        if beside.any() and np.mean(under[beside]) > GLARE_AROUND:
            raise Refusal("uneven")
    x, y = np.meshgrid(np.linspace(0, strip.size_mm[0], 9), np.linspace(0, strip.size_mm[1], 9))
    gain = light.gain(x, y)
    if gain.max() > MOST_GAIN_RATIO * gain.min():
        raise Refusal("uneven")


def _measured(strip: Strip) -> list[Box]:
    return [patch.box for patch in strip.patches] + [cell.box for cell in strip.cells]


def _beside(box: Box, bare: Bare) -> NDArray[np.bool_]:
    """Which tiles of bare glass lie beside a box."""
    x = np.abs(bare.x_mm - box.left_mm - box.width_mm / 2.0) < box.width_mm / 2.0 + NEAR_MM
    y = np.abs(bare.y_mm - box.top_mm - box.height_mm / 2.0) < box.height_mm / 2.0 + NEAR_MM
    return np.asarray(x & y, bool)


def odd_ones(frost: Values, group: NDArray[np.intp], off: Values) -> NDArray[np.bool_]:
    """Patches that differ too much from the median of those burnt alike."""
    apart = _apart(frost, group)
    apart = np.where(np.abs(frost * off) > np.abs(apart), frost * off, apart)
    return np.asarray(np.abs(np.nan_to_num(apart)) > MOST_OFF, bool)


def check_shadows(
    strip: Strip, frost: Values, group: NDArray[np.intp], light: Light, bare: Bare
) -> None:
    """Raises Refusal for a shadow's edge, which no smooth surface follows: it dims bare glass and
    frost by the same share, so that patches and the bare glass beside them are off in step. A
    reflection adds the same to both, which is far less of the frost's share."""
    apart = np.nan_to_num(_apart(frost, group))
    counts = _repeated(group) & (frost > 0.1)
    if counts.sum() < 8 or len(bare.over) < _BESIDE or spread(apart[counts]) < SHADED_SPREAD:
        return
    dark = light.dark(bare.x_mm, bare.y_mm)
    step = bare.over / np.maximum(dark, 1e-6)
    x, y = _middles(strip)
    far = np.hypot(x[:, None] - bare.x_mm, y[:, None] - bare.y_mm)
    beside = step[np.argsort(far, axis=1)[:, :_BESIDE]].mean(axis=1)[counts]
    off = np.clip(apart[counts] / frost[counts], -_MOST_OFF_STEP, _MOST_OFF_STEP)
    if not beside.std() or not off.std():
        return
    in_step = float(np.corrcoef(off, beside)[0, 1])
    slope = float((off * beside).sum() / (beside**2).sum())
    of_reflection = float(np.median(dark / light.gain(bare.x_mm, bare.y_mm)))
    if in_step > SHADED_TOGETHER and slope > 2.0 * of_reflection:
        raise Refusal("uneven")


def check_repeats(
    strip: Strip,
    frost: Values,
    group: NDArray[np.intp],
    odd: NDArray[np.bool_],
) -> None:
    """Raises Refusal when too many patches differ from their like: for the light's sake where
    neighbours are off together, else for the strip's."""
    apart = np.nan_to_num(_apart(frost, group))
    counts = _repeated(group) & (frost > 0.1)
    width = spread(apart[counts]) if counts.any() else 0.0
    together = _together(strip, apart, counts)
    many = odd.sum() > max(1, MOST_LEFT_OUT * len(odd)) or width > MOST_SPREAD
    if together < TOGETHER:
        if many:
            raise Refusal("disagree")
        return
    if many or width > SUSPICIOUS_SPREAD:
        lighter = np.median(apart[odd | (np.abs(apart) > width)]) > 0.0
        raise Refusal("glare" if lighter and odd.any() else "uneven")


def _repeated(group: NDArray[np.intp]) -> NDArray[np.bool_]:
    return np.asarray(np.bincount(group)[group] > 1, bool)


def _middles(strip: Strip) -> tuple[Values, Values]:
    boxes = [patch.box for patch in strip.patches]
    x = np.array([box.left_mm + box.width_mm / 2.0 for box in boxes])
    return x, np.array([box.top_mm + box.height_mm / 2.0 for box in boxes])


def _together(strip: Strip, apart: Values, counts: NDArray[np.bool_]) -> float:
    """Correlation of each patch with the mean of the four nearest ones."""
    x, y = _middles(strip)
    far = np.hypot(x[:, None] - x, y[:, None] - y) + 1e9 * np.eye(len(x))
    beside = apart[np.argsort(far, axis=1)[:, :4]].mean(axis=1)
    if counts.sum() < 8 or not apart[counts].std() or not beside[counts].std():
        return 0.0
    return float(np.corrcoef(apart[counts], beside[counts])[0, 1])


def _apart(frost: Values, group: NDArray[np.intp]) -> Values:
    middle = [float(np.nanmedian(frost[group == number])) for number in group]
    return frost - np.array(middle, np.float64)


def flags_of(field: Field, odd: bool) -> tuple[str, ...]:
    """Why a patch is left out."""
    reasons = (
        (field.pixels < LEAST_PIXELS, SMALL),
        (is_clipped(field), CLIPPED),
        (odd, ODD),
    )
    return tuple(sentence for holds, sentence in reasons if holds)
