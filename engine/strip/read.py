"""A photograph of a burnt strip read: every patch measured, or one plain sentence why not.

find     markers -> where the strip lies (homography)
measure  each patch inside its rim, in linear light, from the photo's own pixels
tones    the camera's: measured where there is a darker photo too, else plain sRGB without the
         picture style that shows itself, taken off before anything is evened
even     light and dark as smooth surfaces, from bare glass, solids and patches burnt alike
refuse   what cannot be trusted
"""

import math
from contextlib import AbstractContextManager
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.progress import Progress, part, unheard
from engine.strip import light_checks, read_checks, read_words
from engine.strip.displaced import check_places
from engine.strip.even import Light, Values
from engine.strip.exposures import CameraTones, Darker, camera_tones, check_share
from engine.strip.find import find_strip
from engine.strip.read_edges import Edges, edges, modulation
from engine.strip.read_patches import RIM_MM, Bare, Field, alike, light_of, measure
from engine.strip.read_picture import drawn
from engine.strip.read_result import PatchReading, Reading
from engine.strip.read_texture import texture
from engine.strip.rectify import Shot, encoded_grey, shot
from engine.strip.refuse import Refusal
from engine.strip.robust import medians
from engine.strip.style import style_of
from engine.strip.true_reason import check_soft, true_reasons
from engine.strip.veil import veil_of
from shared.strip import Cell, Patch, Strip

_FOUND, _LIT, _SHARP, _DRAWN = 0.3, 0.65, 0.8, 0.9
"""Shares of the progress at which each step is done; the light is measured a second time where a
picture style is taken off."""


@attrs.frozen(eq=False)
class _Lit:
    """The photo's linear light, what each patch shows and the light on the strip."""

    taken: Shot
    fields: list[Field]
    light: Light
    bare: Bare
    off: Values
    """What patches are off their like, in the gain's logarithm."""

    @classmethod
    def of(cls, taken: Shot, strip: Strip, report: Progress) -> "_Lit":
        """Raises Refusal for a photo that is too dark, burnt out or flat."""
        fields = measure(taken, strip.patches)
        read_checks.check_exposure(strip, fields)
        return cls(taken, fields, *light_of(taken, strip, fields, report))

    def frost(self) -> Values:
        """Each patch's mean, not a number where no pixel counts."""
        means = [_frost(self.light, f).mean() if f.pixels else math.nan for f in self.fields]
        return np.array(means)

    def spoilt(self, strip: Strip) -> tuple[NDArray[np.bool_], bool]:
        """On or beside which patches something bright lies, and whether it does on a cell."""
        on_cell = read_checks.check_cells(self.taken, strip, self.fields)
        bright = read_checks.bright_ones(strip, self.fields)
        return bright | light_checks.beside_glare(strip, self.light, self.bare), on_cell

    def true_reasons(
        self, grey: NDArray[np.uint8], strip: Strip, sharp: Edges
    ) -> AbstractContextManager[None]:
        """See engine.strip.true_reason."""

        def shadows() -> None:
            light_checks.check_shadows(
                strip, self.frost(), alike(strip.patches), self.light, self.bare
            )

        flaked = read_checks.all_flaked(strip.patches, self.fields)
        return true_reasons(grey, sharp, shadows, flaked=flaked)

    def edges(self, strip: Strip) -> Edges:
        """How sharp the most even patches are, each as high as those burnt alike frost."""
        calm = read_checks.calm_patches(strip.patches, self.fields)
        frost = np.array([_frost(self.light, self.fields[n]).mean() for n in calm])
        boxes = [strip.patches[n].box for n in calm]
        return edges(self.taken, self.light, boxes, medians(frost, alike(strip.patches)[calm]))


def read_photo(
    pixels: NDArray[Any],
    strip: Strip,
    *,
    darker: Darker | None = None,
    cell_pitch_mm: float | None = None,
    progress: Progress | None = None,
) -> Reading:
    """What a photo of the strip shows.

    pixels: rows x columns x 3, uint8 or uint16, sRGB encoded, upright or turned in any way.
    darker: a second photo, from which the camera's tones are measured.
    cell_pitch_mm: of the cells' pictures; the strip's own pitch if None.
    progress: called with the share that is done, 0 to 1; may raise `Cancelled`.

    Raises Refusal (a PhotoError), whose `reason` is one of engine.strip.refuse.REASONS, for any
    photo that cannot be trusted; ValueError for another kind of array.
    """
    report = progress or unheard
    found = _FOUND if darker is None else _FOUND / 2.0
    grey, taken = _straight(pixels, strip, part(report, 0.0, found))
    view, tones = taken.view, None
    if darker is not None:
        tones = _tones(taken, strip, darker, part(report, found, 2.0 * found))
        taken = shot(pixels, view, tones.light)
    lit = _Lit.of(taken, strip, part(report, _FOUND, _LIT))
    group = alike(strip.patches)
    check_places(strip, lit.taken, lit.light)
    sharp = lit.edges(strip)
    with lit.true_reasons(grey, strip, sharp):
        read_checks.check_edges(sharp, grey)
        light_checks.check_strip(strip, lit.frost(), group, lit.light, lit.bare)
        spoilt, on_cell = lit.spoilt(strip)
    style = style_of(strip, lit.fields, lit.bare)
    if style.found:
        read_checks.check_style(style, measured=tones is not None)
        taken = shot(pixels, view, style.light)
        lit = _Lit.of(taken, strip, part(report, _LIT, _SHARP))
        sharp = lit.edges(strip)
    taken, fields, light, bare = lit.taken, lit.fields, lit.light, lit.bare
    report(_SHARP)

    blur_px = sharp.blur_mm * view.px_per_mm
    frost, scatter, error = np.array([_figures(light, field, blur_px) for field in fields]).T
    with lit.true_reasons(grey, strip, sharp):
        light_checks.check_shadows(strip, frost, group, light, bare)
        spoilt |= light_checks.beside_shadow(strip, light, bare, sharp)
        odd = light_checks.odd_ones(frost, group, lit.off)
        light_checks.check_repeats(strip, frost, group, odd)
    if spoilt.any():
        check_soft(grey, sharp)
    if np.nanmedian(error) > read_checks.MOST_ERROR:
        raise Refusal("noisy")
    veil = veil_of(strip, fields, light)
    light_checks.check_bare(veil)
    readings = tuple(
        PatchReading(
            float(frost[i]),
            float(scatter[i]),
            float(error[i]),
            fields[i].pixels,
            read_checks.flags_of(fields[i], odd=bool(odd[i]), spoilt=bool(spoilt[i])),
            texture(taken, light, patch),
            *_lines(taken, light, patch, sharp.blur_mm),
        )
        for i, patch in enumerate(strip.patches)
    )
    report(_DRAWN)
    picture, scale = drawn(pixels, view, strip, readings, RIM_MM)
    pitch_mm = cell_pitch_mm or strip.pitch_mm
    x, y = strip.size_mm[0] / 2.0, strip.size_mm[1] / 2.0
    middle = np.array([x]), np.array([y])
    dark, gain = light.dark(*middle)[0], light.gain(*middle)[0]
    bend_l = None if tones is None else tones.bend_l
    haze = veil.taken_off(dark)
    bare_over_solid = float((dark - haze) / (dark - haze + gain))
    cells = []
    for cell in strip.cells:
        cells.append(_cell(taken, light, cell, pitch_mm))
        report(_DRAWN + (1.0 - _DRAWN) * len(cells) / len(strip.cells))
    return Reading(
        patches=readings,
        cells=tuple(cells),
        cell_pitch_mm=pitch_mm,
        picture=picture,
        picture_px_per_mm=scale,
        px_per_mm=view.px_per_mm,
        tilt_deg=view.tilt_deg,
        turn_deg=view.turn_deg,
        side="front",
        residual_px=view.residual_px,
        blur_mm=sharp.blur_mm,
        bare_over_solid=bare_over_solid,
        style=style.strength if style.found else 0.0,
        bend_l=bend_l,
        veil=haze / gain,
        warnings=read_words.warnings(
            style if tones is None else None,
            veil,
            dark,
            bare_over_solid,
            sharp,
            view.px_per_mm,
            float(np.nanmedian(error)),
            on_cell or bool(spoilt.any()),
        ),
        notes=read_words.notes(readings, bend_l),
    )


def _straight(
    pixels: NDArray[Any], strip: Strip, report: Progress
) -> tuple[NDArray[np.uint8], Shot]:
    """The photo as encoded grey, and in the light of plain sRGB with the strip found in it."""
    if pixels.ndim != 3 or pixels.shape[2] != 3 or pixels.dtype not in (np.uint8, np.uint16):
        raise ValueError(f"not a photo: {pixels.shape} {pixels.dtype}")
    if min(pixels.shape[:2]) < 32:
        raise Refusal("no_strip")
    grey = encoded_grey(pixels)
    return grey, shot(pixels, find_strip(grey, strip, report))


def _tones(taken: Shot, strip: Strip, darker: Darker, report: Progress) -> CameraTones:
    """The camera's, from both photos; refusals of the second one say so."""
    check_share(darker.share)
    first = measure(taken, strip.patches)
    try:
        second = measure(_straight(darker.pixels, strip, report)[1], strip.patches)
    except Refusal as refusal:
        raise refusal.of_second() from None
    try:
        return camera_tones(strip, first, second, darker.share)
    except Refusal:
        read_checks.check_exposure(strip, first)  # may know a better reason
        raise


def _frost(light: Light, field: Field) -> Values:
    """Of a patch's pixels that count."""
    samples, kept = field.samples, field.kept
    return light.frost(samples.x_mm[kept], samples.y_mm[kept], samples.level[kept])


def _figures(light: Light, field: Field, blur_px: float) -> tuple[float, float, float]:
    """Mean frost, scatter and standard error; pixels within the blur's area are not independent
    (a Gaussian averages over 4 pi sigma squared)."""
    if not field.pixels:
        return math.nan, math.nan, math.nan
    frost = _frost(light, field)
    scatter = float(frost.std())
    independent = max(1.0, field.pixels / max(1.0, 4.0 * math.pi * blur_px**2))
    return float(frost.mean()), scatter, scatter / math.sqrt(independent)


def _lines(
    taken: Shot, light: Light, patch: Patch, blur_mm: float
) -> tuple[float | None, float | None]:
    if patch.kind != "lines":
        return None, None
    return modulation(taken, light, patch, RIM_MM, blur_mm)


def _cell(taken: Shot, light: Light, cell: Cell, pitch_mm: float) -> NDArray[np.float32]:
    level = taken.straight(cell.box, pitch_mm)
    return light.frost_picture(level, cell.box.left_mm, cell.box.top_mm, pitch_mm)
