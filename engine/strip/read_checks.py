"""What makes a photograph unfit before the light on it is known, and why patches are left out."""

import numpy as np
from numpy.typing import NDArray

from engine.strip.light_checks import MOST_SPOILT
from engine.strip.read_edges import Edges
from engine.strip.read_patches import EVEN, LEAST_PIXELS, Field, alike
from engine.strip.rectify import Shot
from engine.strip.refuse import Refusal
from engine.strip.refuse_photo import is_squeezed
from engine.strip.robust import medians
from engine.strip.style import MOST_STRENGTH, Style
from shared.strip import Patch, Strip

CLIPPED_AT = 253.5 / 255.0
MOST_CLIPPED, MOST_CLIPPED_CELL, MOST_SPOILT_CELL = 0.02, 0.001, 0.01
LEAST_FROSTED = 0.4
"""Share of the lightest solid patches' light below which one tells nothing: its setting is weak."""
LIGHT_RUN = 0.6
"""Share of the lightest setting's solid patches that others must have to tell of the photo."""
MOSTLY_LEFT = 0.7
"""Share of the lightest patches' light below which solids have flaked."""
AS_CALM = 2.5
"""Times as uneven as the most even setting, up to which one is as even."""
SPECKLED = 3
"""Patches of dots or lines with single pixels at white, where no other patch has any: sharpening
makes them, a reflection would lie on all kinds."""
MOST_WHITE = 0.1
"""Share of patches at white that are left out, where solids reach it by themselves."""
MANY_CLIPPED = 0.3
"""Share of solid patches at white that no reflection explains, since solids lie all over."""
LEAST_SOLID = 0.06
"""Linear light of solid patches below which 8 bits and the noise leave too few steps."""
SAFE_SOLID = 0.82
"""Linear light of solid patches below which none of them reaches white by itself."""
DARKER, LIGHTER = 0.85, 0.15
"""Share of pairs of bare and solid patches in which bare glass is darker: from the former on it is
glass on black, below the latter glass on something light; between them it is another strip, unless
nothing stands out from the rest."""
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
MOST_ERROR = 0.013
"""Standard error of half the patches' frost beyond which nothing is fitted; at 0.01, on coarse
glass or by little light, the tones still come out within half an L* (virtual photos)."""

CLIPPED = "burnt out to white in the photo"
SMALL = "too few pixels"
SPOILT = "something bright or dark lies on it or beside it"
ODD = "differs too much from patches burnt alike"


def check_exposure(strip: Strip, fields: list[Field]) -> None:
    """Raises Refusal for a photo that is too dark, burnt out, flat or of another strip."""
    patches = strip.patches
    kinds = np.array([patch.kind for patch in patches])
    level = np.array([field.level for field in fields])
    bare, solid = level[kinds == "bare"], level[kinds == "solid"]
    another = Refusal("wrong_strip", number=strip.number)
    if not np.isfinite(bare).any() or not np.isfinite(solid).any():
        raise another
    frosted = solid[solid > LEAST_FROSTED * np.nanquantile(solid, 0.9)]
    if np.nanmedian(bare) < np.median(frosted) < LEAST_SOLID:
        raise Refusal("dark")
    below = float(np.mean(bare[:, None] < frosted[None, :]))
    _check_backing(below, level)
    if _unevenness([fields[n] for n in calm_patches(patches, fields)]) > MOST_GRAIN:
        if below < DARKER:
            raise another
        raise Refusal("flaked" if all_flaked(patches, fields) else "noisy")
    _check_clipped(strip, fields)
    if below < DARKER:
        raise another
    if np.median(frosted) < LEAST_CONTRAST * np.nanmedian(bare):
        raise Refusal("veiled")


def _check_clipped(strip: Strip, fields: list[Field]) -> None:
    kinds = np.array([patch.kind for patch in strip.patches])
    white = np.array([_white(field) for field in fields])
    clipped = white > MOST_CLIPPED
    of_solids = clipped[kinds == "solid"].mean()
    if of_solids > MANY_CLIPPED:
        raise Refusal("clipped")
    if bright_ones(strip, fields).any():
        dotted = np.isin(kinds[clipped], ("screen", "lines")).all()
        if clipped.sum() >= SPECKLED and white.max() < 0.5 and dotted:
            raise Refusal("sharpened")
        if clipped.mean() > MOST_SPOILT:
            raise Refusal("glare")
    elif clipped[kinds != "lines"].any() and max(clipped.mean(), of_solids) > MOST_WHITE:
        raise Refusal("clipped")


def bright_ones(strip: Strip, fields: list[Field]) -> NDArray[np.bool_]:
    """Which patches are burnt out to white although no frost is that light: something bright lies
    on them."""
    kinds = np.array([patch.kind for patch in strip.patches])
    level = np.array([field.level for field in fields])
    clipped = np.array([is_clipped(field) for field in fields])
    safe = level[(kinds == "solid") & ~clipped]
    if not safe.size or safe.max() >= SAFE_SOLID or not clipped[kinds != "lines"].any():
        return np.zeros(len(fields), bool)
    return clipped


def _check_backing(below: float, level: NDArray[np.float64]) -> None:
    low, high = np.nanquantile(level, (0.05, 0.95))
    if below < LIGHTER or (below < DARKER and high < LEAST_CONTRAST * low):
        raise Refusal("light_backing")


def check_style(style: Style, *, measured: bool) -> None:
    """Raises Refusal for a picture style so strong that too much of it would be left, or one that
    is left although the camera's tones were measured."""
    if measured:
        raise Refusal("unlike")
    if abs(style.strength) > MOST_STRENGTH:
        raise Refusal("styled")


def calm_patches(patches: tuple[Patch, ...], fields: list[Field]) -> list[int]:
    """The evenly frosted patches of the most even settings, for they tell of the photo alone:
    where a setting is so strong that frost flakes, ragged patches are no fault of the photo. Those
    that frosted little, or that flaked altogether, tell nothing.

    They are solids, or those of less power too where all solids flaked.
    """
    told, solid, light, group = _even_patches(patches, fields)
    uneven = np.array([_uneven(fields[n]) for n in told])
    ragged = medians(uneven, group)
    counts = light >= LIGHT_RUN * np.nanmax(light)
    most = AS_CALM * ragged[counts].min()
    of_solids = counts & solid
    if of_solids.any() and ragged[of_solids].min() <= most:
        counts, most = of_solids, AS_CALM * ragged[of_solids].min()
    return [int(n) for n in told[counts & (ragged <= most)]]


def all_flaked(patches: tuple[Patch, ...], fields: list[Field]) -> bool:
    """Whether the solids of every setting are far darker than patches of less power."""
    _, solid, light, _ = _even_patches(patches, fields)
    return bool(np.nanmax(light[solid]) < MOSTLY_LEFT * np.nanmax(light))


def _even_patches(
    patches: tuple[Patch, ...], fields: list[Field]
) -> tuple[NDArray[np.intp], NDArray[np.bool_], NDArray[np.float64], NDArray[np.intp]]:
    """The patches that are frosted all over: their numbers, whether each is a solid, and the median
    light of those burnt as it was, with their number."""
    told = [n for n, p in enumerate(patches) if p.kind in EVEN and fields[n].pixels]
    solid = np.array([patches[n].kind == "solid" for n in told])
    group = alike(patches)[told]
    light = medians(np.array([fields[n].level for n in told]), group)
    return np.array(told, np.intp), solid, light, group


def _unevenness(fields: list[Field]) -> float:
    """Standard deviation over mean of their pixels, the median."""
    return float(np.nanmedian([_uneven(field) for field in fields]))


def _uneven(field: Field) -> float:
    return float(field.samples.level.std() / field.samples.level.mean())


def check_cells(shot: Shot, strip: Strip, fields: list[Field]) -> bool:
    """Whether something bright lies on a cell. Raises Refusal for a lamp's reflection on it, where
    no patch tells of it."""
    kinds = [patch.kind for patch in strip.patches]
    solid = [f.level for f, k in zip(fields, kinds, strict=True) if k == "solid"]
    if max(solid) > SAFE_SOLID:
        return False
    seen = [shot.samples(cell.box, 0.0).brightest >= CLIPPED_AT for cell in strip.cells]
    white = max((float(np.mean(cell)) for cell in seen), default=0.0)
    if white > MOST_SPOILT_CELL:
        raise Refusal("glare")
    return white > MOST_CLIPPED_CELL


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


def flags_of(field: Field, *, odd: bool, spoilt: bool) -> tuple[str, ...]:
    """Why a patch is left out."""
    reasons = (
        (field.pixels < LEAST_PIXELS, SMALL),
        (is_clipped(field), CLIPPED),
        (spoilt, SPOILT),
        (odd, ODD),
    )
    return tuple(sentence for holds, sentence in reasons if holds)
