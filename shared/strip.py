"""The test strip as plain data: where everything lies on the scrap of glass, and how it was burnt.

All rectangles are in mm as seen from the FRONT, from the strip's top left corner; `origin_mm` of a
run is where its bitmap's top left corner lies as the MACHINE sees the glass.
"""

import json
from pathlib import Path
from typing import Any

import attrs

from shared.errors import InputError
from shared.profile import Setting
from shared.strip_checks import check_strip_data

VERSION = 1


def _as_tuple(values: Any) -> tuple[Any, ...]:
    return tuple(values)


@attrs.frozen
class Box:
    """A rectangle in mm, from the front."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float


@attrs.frozen
class Run:
    """One pass of the machine over the glass, with one setting."""

    file: str
    power_max_pct: float
    power_min_pct: float
    speed_mm_s: float
    origin_mm: tuple[float, float] = attrs.field(converter=_as_tuple)

    def power_pct(self, drive: float) -> float:
        """Power in percent at a drive from 0 to 1, which the machine follows linearly."""
        return self.power_min_pct + (self.power_max_pct - self.power_min_pct) * drive

    def setting_from(self, base: Setting, pitch_mm: float) -> Setting:
        """What is set at the machine for this run; the rest is taken from `base`."""
        return attrs.evolve(
            base,
            power_max_pct=self.power_max_pct,
            power_min_pct=self.power_min_pct,
            speed_mm_s=self.speed_mm_s,
            pitch_mm=pitch_mm,
        )


@attrs.frozen
class Patch:
    """A field to be measured.

    `bare` was not burnt; `solid` fires everywhere at full power of its run; `power` fires
    everywhere at `drive` between the run's least and greatest power (drive code 1 to 255 / 255);
    `screen` is a flat field of `screen` at `drive`; `lines` are `lines_per_mm` pairs of burnt and
    bare lines across the scan direction (`upright`) or along it.
    """

    kind: str
    box: Box
    run: int
    drive: float = 0.0
    screen: str = ""
    lines_per_mm: float = 0.0
    upright: bool = True

    @property
    def fired(self) -> float:
        """The drive with which it was burnt: its own, or 1 for a solid one."""
        return 1.0 if self.kind == "solid" else self.drive


@attrs.frozen
class Cell:
    """The user's own crop, burnt with one run's setting."""

    box: Box
    run: int


@attrs.frozen
class Marker:
    """A fiducial (OpenCV ArUco, dictionary DICT_4X4_50), seen upright from the front.

    The box is that of the six by six modules; a quiet zone of one module is burnt around it.
    """

    id: int
    box: Box


@attrs.frozen
class Strip:
    """Everything that making, reading and judging share."""

    number: int
    size_mm: tuple[float, float] = attrs.field(converter=_as_tuple)
    pitch_mm: float
    screen: dict[str, Any]
    """The recipe's screen, with which the cells are made."""
    etched: str
    """back or front, as in the plate."""
    runs: tuple[Run, ...] = attrs.field(converter=_as_tuple)
    markers: tuple[Marker, ...] = attrs.field(converter=_as_tuple)
    patches: tuple[Patch, ...] = attrs.field(converter=_as_tuple)
    cells: tuple[Cell, ...] = attrs.field(converter=_as_tuple)
    cell_look: str = ""
    """File beside the strip: the look of one cell, 16-bit PNG from the front, the same pixels."""
    profile: dict[str, Any] = attrs.field(factory=dict)
    """The glass profile that the strip was planned with; reading starts from its machine."""
    tones: tuple[float, ...] = attrs.field(default=(), converter=_as_tuple)
    """Shares of the whole picture in even steps of the look from 0 to 1; bare glass, look 0, is
    left out, so that they sum to what is burnt."""


def dump_strip(strip: Strip) -> str:
    """The text of `strip.json`."""
    document = {"rimetype": "test strip", "version": VERSION, **attrs.asdict(strip)}
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def load_strip(text: str) -> Strip:
    """A strip from the text of its file. Raises InputError that says what is wrong."""
    try:
        document = json.loads(text)
    except (ValueError, RecursionError):
        document = None
    if not isinstance(document, dict) or document.get("rimetype") != "test strip":
        raise InputError("This is not a Rimetype test strip; choose the strip.json that was made.")
    if document.get("version") != VERSION:
        raise InputError("This test strip is from another version of Rimetype; make it again.")
    try:
        data = {k: v for k, v in document.items() if k not in ("rimetype", "version")}
        check_strip_data(data)
        return _strip(data)
    except (TypeError, KeyError, ValueError, AttributeError, OverflowError):
        raise InputError("This test strip's file is damaged; make the strip again.") from None


def read_strip(path: Path) -> Strip:
    """A strip's file."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise InputError(f"The strip {path} cannot be read; check its name.") from None
    return load_strip(text)


def _strip(data: dict[str, Any]) -> Strip:
    return Strip(
        **{
            **data,
            "runs": [Run(**run) for run in data["runs"]],
            "markers": [Marker(**{**m, "box": Box(**m["box"])}) for m in data["markers"]],
            "patches": [Patch(**{**p, "box": Box(**p["box"])}) for p in data["patches"]],
            "cells": [Cell(**{**c, "box": Box(**c["box"])}) for c in data["cells"]],
        }
    )
