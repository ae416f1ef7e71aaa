"""Bad photographs of a strip: each is refused with its reason, none is read wrongly."""

from collections.abc import Callable
from typing import Any

import attrs
import numpy as np
import pytest
from skimage import data

from engine.strip.make import make_strip
from engine.strip.make_files import write_strip
from engine.strip.read import read_photo
from engine.strip.refuse import REASONS, Refusal
from shared.errors import InputError
from shared.recipe import Recipe
from shared.strip import Strip
from tests import bad_photos as bad
from tests import strip_in_a_folder as strips
from tests.virtual_camera import photograph
from tests.virtual_sheet import SHEETS, Burnt
from tests.virtual_strip import burnt_strip, hand_strip, told, truth

Photo = bad.Photo


@pytest.fixture(scope="module")
def piece() -> tuple[Strip, Burnt]:
    strip = hand_strip("fine")
    return strip, burnt_strip(strip, SHEETS["fine"])


@pytest.fixture(scope="module")
def good(piece: tuple[Strip, Burnt]) -> Photo:
    return photograph(piece[1], seed=1)


EVERYWHERE = [(x, y) for x in (0.2, 0.4, 0.6, 0.8) for y in (0.3, 0.5, 0.7)]
SPOILT: dict[str, tuple[str, Callable[[Photo], Photo]]] = {
    "lamp on patches": ("glare", lambda p: bad.with_spot(p, 0.4, 0.4, 30, 1.5)),
    "chips all over": ("glare", lambda p: bad.with_chips(p, EVERYWHERE, 20)),
    "soft lamp": ("glare", lambda p: bad.with_spot(p, 0.5, 0.5, 60, 0.15)),
    "faint lamp": ("glare", lambda p: bad.with_spot(p, 0.5, 0.5, 80, 0.05)),
    "veil": ("veiled", lambda p: bad.contrasted(p, 0.6)),
    "grey backing": ("veiled", lambda p: bad.contrasted(p, 0.25)),
    "negative": ("light_backing", bad.negative),
    "marker covered": ("missing", lambda p: bad.covered(p, 0.0, 0.0, 0.25, 20)),
    "marker covered on scratched glass": (
        "missing",
        lambda p: bad.covered(bad.scratched(p, 14), 0.0, 0.0, 0.25, 20),
    ),
    "right cut off": ("cropped", lambda p: p[:, : int(0.85 * p.shape[1])]),
    "top cut off": ("cropped", lambda p: p[int(0.2 * p.shape[0]) :]),
    "double": ("moved", lambda p: bad.doubled(p, 20, 9)),
    "weak double": ("moved", lambda p: bad.doubled(p, 20, 9, 0.25)),
    "far double": ("moved", lambda p: bad.doubled(p, 60, 30)),
    "smeared": ("moved", lambda p: bad.smeared(p, 20)),
    "band of shadow": ("uneven", lambda p: bad.shaded(p, 0.3, 0.6, 0.5)),
    "half in shadow": ("uneven", lambda p: bad.shaded(p, 0.55, 1.0, 0.6)),
    "dragged": ("moved", lambda p: bad.dragged(p, 17, 30.0)),
    "sharpened": ("sharpened", lambda p: bad.sharpened(p, 1.2, 1.5)),
    "squeezed": ("squeezed", lambda p: bad.squeezed(p, 4)),
    "local contrast": ("sharpened", lambda p: bad.sharpened(p, 0.35, 15.0)),
    "less squeezed": ("squeezed", lambda p: bad.squeezed(p, 10)),
    "partly out of focus": ("blurred", lambda p: bad.blurred_in_part(p, 4.0)),
    "one channel burnt out": ("clipped", lambda p: bad.one_channel_burnt_out(p, 2.2)),
    "fingertip": ("glare", lambda p: bad.with_finger(p, 0.5, 0.5, 60.0)),
    "swaying": ("distorted", lambda p: bad.waved(p, 6.0)),
}
SHOT: dict[str, tuple[str, dict[str, object]]] = {
    "out of focus": ("blurred", {"blur_px": 3.0}),
    "far out of focus": ("blurred", {"blur_px": 10.0}),
    "over-exposed": ("clipped", {"saturation_y": 0.22}),
    "far over-exposed": ("clipped", {"saturation_y": 0.12}),
    "dark": ("dark", {"saturation_y": 8.0}),
    "black": ("dark", {"saturation_y": 40.0}),
    "from the etched side": ("wrong_side", {"etched_side": True}),
    "far away": ("small", {"px_per_mm": 3.0}),
    "very far away": ("small", {"px_per_mm": 1.5}),
    "oblique": ("tilted", {"tilt_deg": (40.0, 0.0)}),
    "very oblique": ("tilted", {"tilt_deg": (55.0, 10.0)}),
    "grainy": ("noisy", {"noise": 20.0}),
    "light from one side": ("uneven", {"falloff": 0.9}),
}


@pytest.mark.parametrize("name", SPOILT)
def test_a_spoilt_photo_is_refused(piece: tuple[Strip, Burnt], good: Photo, name: str) -> None:
    reason, spoil = SPOILT[name]
    with pytest.raises(Refusal) as refused:
        read_photo(np.ascontiguousarray(spoil(good)), piece[0])
    assert refused.value.reason == reason


@pytest.mark.parametrize("name", SHOT)
def test_a_photo_taken_badly_is_refused(piece: tuple[Strip, Burnt], name: str) -> None:
    reason, how = SHOT[name]
    with pytest.raises(Refusal) as refused:
        read_photo(photograph(piece[1], **how), piece[0])  # type: ignore[arg-type]
    assert refused.value.reason == reason


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 270.0])
def test_the_wrong_side_is_noticed_in_any_orientation(
    piece: tuple[Strip, Burnt], turn: float
) -> None:
    photo = photograph(piece[1], etched_side=True, turn_deg=turn)
    with pytest.raises(Refusal, match="unetched face") as refused:
        read_photo(photo, piece[0])
    assert refused.value.reason == "wrong_side"


@pytest.mark.parametrize("backing", [0.3, 0.5, 0.7, 0.8])
def test_white_cloth_is_asked_to_be_black(backing: float) -> None:
    strip = hand_strip("weak")
    white = bad.on_backing(burnt_strip(strip, SHEETS["weak"]), backing)
    photo = photograph(white, surround_y=backing, saturation_y=max(0.5, 1.3 * backing))
    with pytest.raises(Refusal, match="dull black") as refused:
        read_photo(photo, strip)
    assert refused.value.reason == "light_backing"


def test_a_strip_with_other_markers_is_another_strip(good: Photo) -> None:
    with pytest.raises(Refusal) as refused:
        read_photo(good, hand_strip("fine", ids=(12, 13, 14, 15)))
    assert refused.value.reason == "wrong_strip"


def test_the_same_markers_with_other_patches_are_another_strip(
    piece: tuple[Strip, Burnt], good: Photo
) -> None:
    strip = piece[0]
    boxes = [patch.box for patch in strip.patches]
    order = np.random.default_rng(0).permutation(len(boxes))
    moved = [attrs.evolve(p, box=boxes[i]) for p, i in zip(strip.patches, order, strict=True)]
    with pytest.raises(Refusal) as refused:
        read_photo(good, attrs.evolve(strip, patches=moved))
    assert refused.value.reason == "wrong_strip"


def test_the_same_places_with_other_patches_are_another_strip(
    piece: tuple[Strip, Burnt], good: Photo
) -> None:
    strip = piece[0]
    burnt = [n for n, patch in enumerate(strip.patches) if patch.kind in ("power", "screen")]
    order = np.random.default_rng(3).permutation(burnt)
    patches = list(strip.patches)
    for place, n in zip(burnt, order, strict=True):
        patches[place] = attrs.evolve(strip.patches[n], box=strip.patches[place].box)
    with pytest.raises(Refusal, match="number is 1;") as refused:
        read_photo(good, attrs.evolve(strip, patches=patches))
    assert refused.value.reason == "wrong_strip"


def test_patches_that_disagree_are_refused(piece: tuple[Strip, Burnt]) -> None:
    strip, burnt = piece
    rng = np.random.default_rng(4)
    luminance = burnt.luminance.copy()
    for patch in strip.patches:
        if patch.kind in ("power", "screen"):
            box = patch.box
            rows = slice(round(box.top_mm * 40), round((box.top_mm + box.height_mm) * 40))
            columns = slice(round(box.left_mm * 40), round((box.left_mm + box.width_mm) * 40))
            part = luminance[rows, columns]
            part[:] = 0.015 + (part - 0.015) * rng.uniform(0.4, 1.0)
    with pytest.raises(Refusal) as refused:
        read_photo(photograph(Burnt(luminance, burnt.sub, burnt.pitch_mm)), strip)
    assert refused.value.reason == "disagree"


@pytest.mark.parametrize(
    "picture",
    [
        np.full((600, 800, 3), 90, np.uint8),
        np.random.default_rng(0).integers(0, 255, (600, 800, 3), dtype=np.uint8),
        data.astronaut(),
        data.coffee(),
    ],
    ids=["even", "noise", "portrait", "cup"],
)
def test_a_picture_without_a_strip_says_so(piece: tuple[Strip, Burnt], picture: np.ndarray) -> None:
    with pytest.raises(Refusal, match="run 1, which carries the markers") as refused:
        read_photo(picture, piece[0])
    assert refused.value.reason == "no_strip"


@pytest.mark.parametrize("shape", [(1, 1, 3), (8, 4000, 3), (20, 20, 3)])
def test_a_sliver_is_refused(piece: tuple[Strip, Burnt], shape: tuple[int, ...]) -> None:
    with pytest.raises(Refusal):
        read_photo(np.zeros(shape, np.uint8), piece[0])


@pytest.mark.parametrize("step", [2, 4, 6, 9])
def test_between_good_and_bad_a_photo_is_refused_or_read_right(
    piece: tuple[Strip, Burnt], good: Photo, step: int
) -> None:
    strip, burnt = piece
    for photo in (
        bad.doubled(good, step, step // 2),
        bad.smeared(good, 2 * step),
        bad.curved(good, step / 200.0),
        bad.waved(good, step),
        bad.with_spot(good, 0.55, 0.45, 40, step / 100.0),
        bad.shaded(good, 0.4, 1.0, 1.0 - step / 30.0),
        bad.shaded(good, 0.0, 0.25, 1.0 - step / 30.0),
        bad.veiled(good, 0.01 * step),
        bad.sharpened(good, 0.1 * step, 1.0),
        bad.squeezed(good, 60 // step),
        bad.dragged(good, 2 * step + 1, 30.0),
        bad.with_finger(good, 0.0, 0.5, 15.0 * step),
        photograph(burnt, blur_px=0.5 * step),
        photograph(burnt, saturation_y=0.5 * step),
        photograph(burnt, noise=2.0 * step),
    ):
        try:
            reading = read_photo(photo, strip)
        except Refusal:
            continue
        off = reading.frost() - truth(burnt, strip)
        assert np.sqrt(np.nanmean(off**2)) < (0.025 if told(reading) else 0.012)


@pytest.mark.parametrize("reason", REASONS)
def test_each_reason_is_an_input_error_with_a_sentence(reason: str) -> None:
    facts = {
        "number": 1,
        "runs": "Run 2 lies",
        "where": "top left",
        "front": "front",
        "found": 1.0,
        "needed": 2.0,
        "how": "as",
    }
    refusal = Refusal(reason, **facts)  # type: ignore[arg-type]
    assert isinstance(refusal, InputError)
    assert str(refusal).endswith(".")
    assert "{" not in str(refusal)


def test_a_camera_that_moved_along_the_scan_lines_is_told_of(
    piece: tuple[Strip, Burnt], good: Photo
) -> None:
    along = read_photo(bad.smeared(good, 3), piece[0])
    assert any("along the scan lines" in warning for warning in along.warnings)
    upright = np.ascontiguousarray(good.transpose(1, 0, 2))
    across = np.ascontiguousarray(bad.smeared(upright, 3).transpose(1, 0, 2))
    assert not told(read_photo(across, piece[0]))


def test_an_enlarged_photo_is_told_of_with_its_true_size(
    piece: tuple[Strip, Burnt], good: Photo
) -> None:
    reading = read_photo(bad.enlarged(good, 3.0 / 8.0), piece[0])
    (sentence,) = (w for w in reading.warnings if "enlarged" in w)
    shown = float(sentence.split(" pixels per mm")[0].split()[-1])
    assert shown == pytest.approx(3.0, abs=0.8)


def test_coarse_frost_and_little_light_are_read_and_told_of(piece: tuple[Strip, Burnt]) -> None:
    calm, grainy = (read_photo(photograph(piece[1], noise=noise), piece[0]) for noise in (1.0, 9.0))
    assert not any("grainy" in warning for warning in calm.warnings)
    assert any("grainy" in warning for warning in grainy.warnings)
    apart = grainy.frost() - calm.frost()
    assert np.sqrt(np.nanmean(np.square(apart))) < 0.015


def test_a_tube_that_lags_is_not_taken_for_a_camera_that_moved() -> None:
    strip = hand_strip("lagging")
    assert not told(read_photo(photograph(burnt_strip(strip, SHEETS["lagging"])), strip))


def test_haze_that_is_not_refused_is_told_of(piece: tuple[Strip, Burnt], good: Photo) -> None:
    strip, _ = piece
    assert not told(read_photo(good, strip))
    hazy = read_photo(bad.contrasted(good, 0.07), strip)
    assert any("haze" in warning for warning in hazy.warnings)


@pytest.fixture(scope="module")
def of_files(tmp_path_factory: pytest.TempPathFactory) -> Photo:
    """A photo of the strip that the engine lays out."""
    folder = tmp_path_factory.mktemp("strip")
    write_strip(strips.made(), folder)
    return strips.photographed(folder)


@pytest.mark.parametrize(
    "change",
    [
        {"pairs": ((50.0, 16.0), (20.0, 12.0))},
        {"speeds": (300.0,)},
        {"screens": ("mixed",)},
    ],
)
def test_a_strip_of_the_same_number_and_other_settings_is_not_taken_for_it(
    of_files: Photo, change: dict[str, Any]
) -> None:
    strip = strips.made().strip
    plan = attrs.evolve(strips.PLAN, number=strip.number, **change)
    other = make_strip(strips.portrait(), Recipe(), strips.machine_profile(), plan).strip
    assert other.markers == strip.markers
    with pytest.raises(Refusal):
        read_photo(of_files, other)
