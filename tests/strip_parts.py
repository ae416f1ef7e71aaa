"""Small strips without glass or camera: what a known profile would give is what is 'measured'."""

from __future__ import annotations

import attrs
import numpy as np

from engine import burning
from engine.glass import ends, lightness_of_mark
from engine.linearise import tone_curve
from engine.response import frost_of_fluence
from engine.strip.fit import BACKING
from engine.strip.fit_gains import set_to
from engine.strip.fit_values import LineValue, Measured, Value
from shared.profile import GENERIC, GlassProfile, Knot
from shared.profile_file import profile_data
from shared.recipe import Screen
from shared.strip import Box, Cell, Patch, Run, Strip

BOX = Box(0.0, 0.0, 5.0, 5.0)
TRUE = attrs.evolve(
    GENERIC,
    knots=[
        Knot(float(f), float(share))
        for f, share in zip(
            10.0 ** np.linspace(-0.75, 0.1, 18),
            1.0 / (1.0 + np.exp(-9.0 * (np.linspace(-0.75, 0.1, 18) + 0.33))),
            strict=True,
        )
    ],
    spread_mm=0.07,
)
"""A glass that is not the generic one: lower threshold, softer slope."""
FULL = 1.0
"""The fullest frost that this glass can have, to which its logistic rises: what the fit calls 1."""
SEEN = ends(GENERIC.light, BACKING, "light")
RUNS = (
    Run("a.png", 45.0, 10.0, 300.0, (0.0, 0.0)),
    Run("b.png", 60.0, 15.0, 300.0, (0.0, 0.0)),
    Run("c.png", 45.0, 10.0, 400.0, (0.0, 0.0)),
)


def in_16_bits(shares):
    """A look of shares from 0 to 1 as a cell's picture has it."""
    return (np.clip(shares, 0, 1) * 65535).astype(np.uint16)


def strip_of(
    runs: tuple[Run, ...] = RUNS,
    steps: int = 11,
    repeats: int = 2,
    screen: str = "diffusion",
    kinds: tuple[str, ...] = ("diffusion",),
) -> Strip:
    """Wedges of power and of screens, solids, bare glass and lines; nothing lies anywhere."""
    patches: list[Patch] = []
    for number, run in enumerate(runs):
        powers = np.geomspace(run.power_min_pct, run.power_max_pct, steps)
        span = run.power_max_pct - run.power_min_pct
        codes = np.clip(np.round(255 * (powers - run.power_min_pct) / span), 1, 255)
        once = [Patch("solid", BOX, number, 1.0), Patch("bare", BOX, number)]
        once += [Patch("power", BOX, number, float(code) / 255.0) for code in codes]
        if number == 0:
            drives = np.linspace(0.0, 1.0, steps + 1)[1:] ** 1.5
            once += [Patch("screen", BOX, 0, float(d), kind) for kind in kinds for d in drives]
            once += [
                Patch("lines", BOX, 0, 0.5, "", waves, upright)
                for waves in (0.5, 1.0, 1.6667, 2.5)
                for upright in (True, False)
            ]
        patches += once * repeats
    cells = [Cell(BOX, number) for number in range(len(runs))]
    planned = profile_data(GENERIC)
    wish = attrs.asdict(Screen(kind=screen))
    return Strip(7, (100.0, 100.0), 0.1, wish, "back", runs, (), patches, cells, "", planned)


def error_l(profile, true=TRUE, full=FULL):
    """Difference of two curves in L* over what the setting can reach."""
    setting = profile.setting
    ends_of = [profile.fluence_j_mm2(p) for p in (setting.power_min_pct, setting.power_max_pct)]
    fluence = np.linspace(*ends_of, 200)
    found, wanted = (frost_of_fluence(fluence, p) for p in (profile, true))
    return lightness_of_mark(found, SEEN) - lightness_of_mark(wanted / full, SEEN)


def measured_on(
    strip: Strip, true: GlassProfile, noise: float = 0.0, *, reciprocity: float = 0.0
) -> Measured:
    """What a reader without fault, but for `noise`, would give for a strip on a glass."""
    rng = np.random.default_rng(3)
    values, lines = [], []
    for number, patch in enumerate(strip.patches):
        run = strip.runs[patch.run]
        model = set_to(true, run, strip.pitch_mm)
        if patch.kind == "lines":
            swing = _swing(patch, model, strip.pitch_mm)
            lines.append(LineValue(number, swing, 0.02))
            continue
        frost = _frost(patch, model, strip.pitch_mm, (run.speed_mm_s / 300.0) ** reciprocity)
        values.append(Value(number, frost + noise * rng.standard_normal(), max(noise, 0.002)))
    return Measured(tuple(values), tuple(lines), 0.05)


def _frost(patch: Patch, model: GlassProfile, pitch_mm: float, more: float) -> float:
    if patch.kind == "bare":
        return 0.0
    if patch.kind == "screen":
        curve = tone_curve(model, Screen(kind=patch.screen), pitch_mm)
        return float(np.interp(patch.drive, curve.drives, curve.frost))
    code = 255 if patch.kind == "solid" else round(255 * patch.drive)
    fluence = burning.fluence_codes(model, pitch_mm)[code] * more
    return float(frost_of_fluence(fluence, model))


def _swing(patch: Patch, model: GlassProfile, pitch_mm: float) -> float:
    period = 1.0 / (patch.lines_per_mm * pitch_mm)
    on = (np.arange(120) + 0.5) % period < period / 2.0
    row = on[None, :] if patch.upright else on[:, None]
    codes = np.ascontiguousarray(
        np.broadcast_to(np.where(row, 255, 0), (120, 120)).astype(np.uint8)
    )
    frost = burning.burn_codes(codes, model, pitch_mm)[20:-20, 20:-20]
    line = frost.mean(axis=0 if patch.upright else 1)
    angle = 2.0 * np.pi * np.arange(line.size) / period
    terms = np.stack([np.ones_like(angle), np.cos(angle), np.sin(angle)], axis=1)
    _, a, b = np.linalg.lstsq(terms, line, rcond=None)[0]
    return float(2.0 * np.hypot(a, b))
