"""Whether the data of a test strip's file can be a strip: kinds, ranges and counts.

The limits are those of what can be burnt and read at all, wider than those of what is made.
"""

from collections.abc import Sequence
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any

from shared.errors import InputError
from shared.fields import infos
from shared.plate import MOST_ETCH_PIXELS, Plate
from shared.profile import Setting
from shared.profile_fields import figures
from shared.profile_file import profile_from_data
from shared.recipe import Screen

PATCH_KINDS = ("bare", "solid", "power", "screen", "lines")
MOST_RUNS = 100
MOST_PATCHES = 5000
MOST_TONES = 256
MARKERS = 4
_MOST_NUMBER = 999_999
_LAST_MARKER = 49
_LONGEST_NAME = 200
_WIDEST_LINES = 0.01
"""Pairs of lines per mm; not one in the whole of a strip."""
_SLACK = 1.001
"""What rounding may add to a limit."""

Group = dict[str, Any]


def check_strip_data(data: Group) -> None:
    """Raise InputError that names what no strip has; KeyError where something is missing.

    data: the plain data of a strip's file, without its head.
    """
    _number("its number", data["number"], 1, _MOST_NUMBER, whole=True)
    size = _size(data)
    pitch_mm = float(data["pitch_mm"])
    _one_of("the etched side", data["etched"], [o.value for o in infos(Plate)["etched"].options])
    runs = _rows("runs", data["runs"], 1, MOST_RUNS)
    for number, run in enumerate(runs, start=1):
        _check_run(f"of run {number}", run, size)
    markers = _rows("markers", data["markers"], MARKERS, MARKERS)
    for number, marker in enumerate(markers, start=1):
        _number(f"the id of marker {number}", marker["id"], 0, _LAST_MARKER, whole=True)
    if len({marker["id"] for marker in markers}) < MARKERS:
        raise _damaged("its markers must have different ids")
    patches = _rows("patches", data["patches"], 1, MOST_PATCHES)
    for number, patch in enumerate(patches, start=1):
        _check_patch(f"of patch {number}", patch, len(runs), pitch_mm)
    cells = _rows("cells", data["cells"], 0, len(runs))
    for number, cell in enumerate(cells, start=1):
        _check_index(f"of cell {number}", cell, len(runs))
    if len({cell["run"] for cell in cells}) < len(cells):
        raise _damaged("its cells must be of different runs")
    _check_boxes({"marker": markers, "patch": patches, "cell": cells}, size, pitch_mm)
    _check_name("the name of the cells' look", data["cell_look"])
    tones = _list("tones", data.get("tones", []), 0, MOST_TONES)
    for number, tone in enumerate(tones, start=1):
        _number(f"tone {number}", tone, 0.0, 1.0)
    if sum(tones) > _SLACK:
        raise _damaged("its tones must not sum to more than 1")
    _check_parts(data)


def _size(data: Group) -> tuple[float, float]:
    described = infos(Plate)
    width, height = _list("size_mm", data["size_mm"], 2, 2)
    _number("its width", width, described["width_mm"].low, described["width_mm"].high)
    _number("its height", height, described["height_mm"].low, described["height_mm"].high)
    _figure("its pitch", data["pitch_mm"], "pitch_mm")
    if width * height / data["pitch_mm"] ** 2 > MOST_ETCH_PIXELS * _SLACK:
        raise _damaged("its pitch is too fine for its size")
    return width, height


def _check_run(whose: str, run: Group, size: tuple[float, float]) -> None:
    _check_name(f"the file {whose}", run["file"])
    for name in ("power_max_pct", "power_min_pct", "speed_mm_s"):
        _figure(f"the {figures(Setting)[name].label.lower()} {whose}", run[name], name)
    if run["power_min_pct"] >= run["power_max_pct"]:
        raise _damaged(f"the least power {whose} must be below the greatest")
    origin = _list(f"the origin {whose}", run["origin_mm"], 2, 2)
    for at, side in zip(origin, size, strict=True):
        _number(f"the origin {whose}", at, 0.0, side)


def _check_patch(whose: str, patch: Group, runs: int, pitch_mm: float) -> None:
    _one_of(f"the kind {whose}", patch["kind"], PATCH_KINDS)
    _check_index(whose, patch, runs)
    _number(f"the drive {whose}", patch.get("drive", 0.0), 0.0, 1.0)
    kinds = [option.value for option in infos(Screen)["kind"].options]
    if patch["kind"] != "screen":
        kinds.append("")
    _one_of(f"the screen {whose}", patch.get("screen", ""), kinds)
    widest = _WIDEST_LINES if patch["kind"] == "lines" else 0.0
    lines = patch.get("lines_per_mm", 0.0)
    _number(f"the lines per mm {whose}", lines, widest, _SLACK * 0.5 / pitch_mm)
    if not isinstance(patch.get("upright", True), bool):
        raise _damaged(f"what stands upright {whose} must be true or false")


def _check_index(whose: str, row: Group, runs: int) -> None:
    if not _is_number(row["run"], whole=True) or not 0 <= row["run"] < runs:
        raise _damaged(f"the run {whose} is none of the {runs} of this strip")


def _check_boxes(
    groups: dict[str, list[Group]], size: tuple[float, float], pitch_mm: float
) -> None:
    """Every box on the glass, and no more of them than the glass has room for."""
    area = 0.0
    for kind, rows in groups.items():
        for number, row in enumerate(rows, start=1):
            box, whose = row["box"], f"of {kind} {number}"
            if not isinstance(box, dict):
                raise _damaged(f"the place {whose} must be a box")
            sides = (("left_mm", "width_mm", size[0]), ("top_mm", "height_mm", size[1]))
            for start, length, whole in sides:
                _number(f"the {start} {whose}", box[start], 0.0, whole)
                _number(f"the {length} {whose}", box[length], pitch_mm / _SLACK, whole)
                if box[start] + box[length] > whole * _SLACK:
                    raise _damaged(f"the box {whose} must lie on the glass")
            area += box["width_mm"] * box["height_mm"]
    if area > size[0] * size[1] * _SLACK:
        raise _damaged("its markers, patches and cells need more room than the glass has")


def _check_parts(data: Group) -> None:
    """The screen and the profile by their own rules."""
    screen, profile = data["screen"], data.get("profile", {})
    if not isinstance(screen, dict) or not isinstance(profile, dict):
        raise _damaged("its screen and its profile must be groups of figures")
    try:
        Screen(**screen)
        profile_from_data(profile)
    except InputError as error:
        raise InputError(f"This test strip's file is damaged. {error}") from None


def _check_name(what: str, name: object) -> None:
    """A file that lies beside the strip's."""
    good = (
        isinstance(name, str)
        and 0 < len(name) <= _LONGEST_NAME
        and name.isprintable()
        and name != ".."
        and PurePosixPath(name).name == PureWindowsPath(name).name == name
    )
    if not good:
        raise _damaged(f"{what} must be a file's name without a folder")


def _rows(what: str, rows: object, fewest: int, most: int) -> list[Group]:
    found = _list(what, rows, fewest, most)
    if not all(isinstance(row, dict) for row in found):
        raise _damaged(f"its {what} must be groups of figures")
    return found


def _list(what: str, rows: object, fewest: int, most: int) -> list[Any]:
    if not isinstance(rows, list) or not fewest <= len(rows) <= most:
        count = f"{fewest}" if fewest == most else f"{fewest} to {most}"
        raise _damaged(f"{what} must be a list of {count}")
    return rows


def _figure(what: str, value: object, name: str) -> None:
    """What is set at the machine, within the range of a profile's setting."""
    figure = figures(Setting)[name]
    _number(what, value, figure.low, figure.high)


def _number(what: str, value: Any, low: float, high: float, *, whole: bool = False) -> None:
    if not _is_number(value, whole=whole) or not low <= value <= high:
        kind = "a whole number" if whole else "a number"
        raise _damaged(f"{what} must be {kind} from {low:g} to {high:g}")


def _is_number(value: object, *, whole: bool) -> bool:
    return isinstance(value, int if whole else int | float) and not isinstance(value, bool)


def _one_of(what: str, value: object, known: Sequence[str]) -> None:
    if value not in known:
        raise _damaged(f"{what} must be one of: {', '.join(name for name in known if name)}")


def _damaged(what: str) -> InputError:
    return InputError(
        f"This test strip's file is damaged: {what}; undo the change in it or make the strip again."
    )
