"""The main job from end to end, held against arithmetic and readers of others.

A photo of known greys goes in by the command line; look, plate bitmap and resolution come out.
"""

import struct

import colour
import numpy as np
import pytest
import tifffile
from PIL import Image
from PySide6.QtGui import QImage
from scipy.ndimage import gaussian_filter

from app.command import run
from engine import sparkle
from shared.profile import GENERIC

CODES = (20, 70, 119, 160, 210, 245)
SIDE = 256
MARGIN_PX = 40
SIZE = f"{0.1 * len(CODES) * SIDE + 8:g}x{0.1 * SIDE + 8:g}"
NEUTRAL = (
    "tone.lift=0",
    "tone.local=0",
    "detail.amount=0",
    "plate.margin_mm=4",
    "glass.unreachable=clip",
)
BACKING = 0.01


@pytest.fixture(scope="module")
def wedge(tmp_path_factory):
    """Steps of neutral sRGB codes, each as large as 256 etch pixels a way."""
    path = tmp_path_factory.mktemp("wedge") / "wedge.png"
    row = np.repeat(np.array(CODES, np.uint8), SIDE)
    Image.fromarray(np.repeat(np.tile(row, (SIDE, 1))[:, :, None], 3, axis=2)).save(path)
    return path


def plate(photo, folder, *words, name="plate.png", settings=NEUTRAL):
    path = folder / name
    sets = [word for setting in settings for word in ("--set", setting)]
    given = ["plate", photo, "-o", path, "--size", SIZE, "--pitch", "0.1", *sets, *words]
    assert run([str(word) for word in given]) == 0
    return path


def steps(pixels):
    """The inner part of each step of a picture as seen from the front: step x rows x columns."""
    inner = pixels[MARGIN_PX : MARGIN_PX + SIDE, MARGIN_PX : MARGIN_PX + len(CODES) * SIDE]
    return inner.reshape(SIDE, len(CODES), SIDE).transpose(1, 0, 2)


def luminance_of(code):
    """Relative luminance of a neutral sRGB code by IEC 61966-2-1, as colour-science has it."""
    return float(colour.models.eotf_sRGB(code / 255.0))


def lightness_of(luminance):
    """CIE L* by CIE 015:2018, as colour-science has it."""
    return float(colour.lightness(100.0 * luminance, method="CIE 1976"))


def ends():
    """Reflectance of bare glass and of full frost, by the optics that the design states.

    Light goes through bare glass to the backing and back, with the reflections between the two
    summed: a layer on a substrate (Kubelka 1948; common practice in optics). Frost covers the
    backing by its own reflectance.
    """
    veil, frost = GENERIC.light.veil_reflectance, GENERIC.light.frost_reflectance
    bare_end = veil + GENERIC.light.transmittance**2 * BACKING / (1 - veil * BACKING)
    return bare_end, frost + (1 - frost) ** 2 * BACKING / (1 - frost * BACKING)


def frost_of(look):
    """The frost that a look asks for: the look is linear in CIE L* between the two ends, frost in
    reflectance (Murray 1936, J. Franklin Inst. 221, 721-744)."""
    bare_end, frost_end = ends()
    low, high = lightness_of(bare_end), lightness_of(frost_end)
    wanted = colour.luminance(low + look * (high - low), method="CIE 1976") / 100.0
    return float((wanted - bare_end) / (frost_end - bare_end))


def characteristic(fluence):
    """Frost of a fluence: a logistic in log10 fluence, cut off at the threshold (the shape of a
    characteristic curve, Hurter and Driffield 1890; the figures are a starting guess)."""
    shape = GENERIC.response
    logs = np.log10(np.maximum(fluence, 1e-9) / shape.middle_j_mm2)
    start = np.log10(shape.threshold_j_mm2 / shape.middle_j_mm2)
    rise, floor = (1.0 / (1.0 + np.exp(-shape.slope * x)) for x in (logs, start))
    return np.where(logs > start, (rise - floor) / (1.0 - floor), 0.0)


def burnt(grey):
    """Mean frost of a field of file greys, on a grid five times as fine, by SciPy's Gaussians."""
    setting, fine = GENERIC.setting, 5
    fired = grey < 255
    percent = (
        setting.power_min_pct
        + (setting.power_max_pct - setting.power_min_pct) * (255 - grey.astype(float)) / 255
    )
    watts = np.where(fired, GENERIC.machine.rated_w * percent / 100.0, 0.0)
    fluence = np.kron(watts / (setting.speed_mm_s * 0.1), np.ones((fine, fine)))
    step = 0.1 / fine
    fluence = gaussian_filter(fluence, GENERIC.machine.beam_mm / 4.0 / step)
    return gaussian_filter(characteristic(fluence), GENERIC.spread_mm / step).mean()


def test_the_look_of_a_neutral_wedge_is_its_lightness(wedge, tmp_path):
    """CIE L* / 100 of each step (IEC 61966-2-1 and CIE 015:2018 by colour-science)."""
    look = tmp_path / "look.png"
    plate(wedge, tmp_path, "--look", look)
    with Image.open(look) as image:
        found = steps(np.asarray(image) / 65535.0)
    for code, step in zip(CODES, found[:, 8:-8, 8:-8], strict=True):
        wanted = lightness_of(luminance_of(code)) / 100.0
        assert step == pytest.approx(np.full(step.shape, wanted), abs=5e-4)


@pytest.mark.parametrize("screen", ["continuous", "mixed", "diffusion", "bluenoise", "clustered"])
def test_each_step_burns_to_the_lightness_that_its_look_asks_for(wedge, tmp_path, screen):
    """0 is full power and 255 none (the design, section 9); seen from the back, so mirrored. The
    steps are burnt by an arithmetic of the test's own; within 1 L*, 0.5 on average."""
    path = plate(wedge, tmp_path, "--screen", screen)
    with Image.open(path) as image:
        assert image.mode == ("L" if screen in ("continuous", "mixed") else "1")
        file = np.asarray(image.convert("L"))
    bare_end, frost_end = ends()
    errors = []
    for code, step in zip(CODES, steps(file[:, ::-1]), strict=True):
        frosts = burnt(step[64:-64, 64:-64]), frost_of(lightness_of(luminance_of(code)) / 100.0)
        made, wanted = (lightness_of(bare_end + (frost_end - bare_end) * f) for f in frosts)
        errors.append(abs(made - wanted))
    assert max(errors) <= 1.0
    assert np.mean(errors) <= 0.5


def test_line_art_parts_the_wedge_where_the_look_crosses_the_level(wedge, tmp_path):
    """L* 50 lies between the codes 118 and 119 of sRGB (119: L* 50.03 by colour-science)."""
    assert lightness_of(luminance_of(118)) < 50.0 < lightness_of(luminance_of(119))
    path = plate(wedge, tmp_path, "--screen", "threshold")
    with Image.open(path) as image:
        found = steps(~np.asarray(image)[:, ::-1])[:, 8:-8, 8:-8]
    assert [bool(step.all()) for step in found] == [code >= 119 for code in CODES]
    assert [bool(step.any()) for step in found] == [code >= 119 for code in CODES]


def test_the_proof_shows_the_reflectance_of_the_etched_glass(wedge, tmp_path):
    """Full frost is shown at nine tenths of the screen's white, all else in proportion (the
    program's own exposure); encoded by IEC 61966-2-1, as colour-science has it. The sparkle of
    frost lies evenly about that."""
    path = tmp_path / "proof.png"
    plate(wedge, tmp_path, "--screen", "continuous", "--proof", path)
    with Image.open(path) as image:
        found = steps(np.asarray(image).astype(int))[:, 16:-16, 16:-16]
    bare_end, frost_end = ends()
    for code, step in zip(CODES, found, strict=True):
        frost = frost_of(lightness_of(luminance_of(code)) / 100.0)
        reflectance = bare_end + (frost_end - bare_end) * frost
        shown = 255.0 * float(colour.models.eotf_inverse_sRGB(0.9 * reflectance / frost_end))
        assert abs(step.mean() - shown) <= 1.5
        assert np.abs(step - shown).max() <= 2.5 + sparkle.MOST * shown


def test_other_readers_find_the_size_in_the_file(wedge, tmp_path):
    """PNG by Qt, TIFF by tifffile, BMP by its header (BITMAPINFOHEADER, bytes 38 to 46)."""
    columns, rows = len(CODES) * SIDE + 2 * MARGIN_PX, SIDE + 2 * MARGIN_PX
    png = QImage(str(plate(wedge, tmp_path)))
    assert (png.width(), png.height()) == (columns, rows)
    assert (png.dotsPerMeterX(), png.dotsPerMeterY()) == (10_000, 10_000)
    with tifffile.TiffFile(plate(wedge, tmp_path, name="plate.tif")) as tiff:
        page = tiff.pages[0]
        assert (page.imagewidth, page.imagelength, page.bitspersample) == (columns, rows, 1)
        assert page.resolutionunit == 2, "the inch"
        for tag in ("XResolution", "YResolution"):
            numerator, denominator = page.tags[tag].value
            assert 25.4 * denominator / numerator == pytest.approx(0.1, rel=1e-9)
    data = plate(wedge, tmp_path, name="plate.bmp").read_bytes()
    assert struct.unpack("<ii", data[18:26]) == (columns, rows)
    assert struct.unpack("<H", data[28:30]) == (1,), "bits a pixel"
    assert struct.unpack("<ii", data[38:46]) == (10_000, 10_000)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_by_a_turned_camera_gives_the_plate_of_the_upright_one(tmp_path, orientation):
    """EXIF 2.32, tag 274: where row 0 and column 0 of the stored picture lie when it is shown."""
    rng = np.random.default_rng(7)
    upright = np.asarray(
        Image.fromarray(rng.integers(0, 256, (9, 13, 3), dtype=np.uint8)).resize((260, 180))
    )
    stored = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: upright.transpose(1, 0, 2),
        6: upright.transpose(1, 0, 2)[::-1],
        7: upright.transpose(1, 0, 2)[::-1, ::-1],
        8: upright.transpose(1, 0, 2)[:, ::-1],
    }[orientation]
    exif = Image.Exif()
    exif[274] = orientation
    turned, straight = tmp_path / "turned.png", tmp_path / "straight.png"
    Image.fromarray(np.ascontiguousarray(stored)).save(turned, exif=exif)
    Image.fromarray(upright).save(straight)
    made = [
        plate(photo, tmp_path, name=f"{photo.stem}-plate.png").read_bytes()
        for photo in (turned, straight)
    ]
    assert made[0] == made[1]
