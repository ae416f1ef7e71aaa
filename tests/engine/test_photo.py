"""Opening photos: the happy path, and every way in which a file can be unusable."""

import hashlib
import io
import os
import subprocess
import sys
import threading
import warnings
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from engine import photo as photo_module
from engine import photo_decode
from engine.photo import Photo, open_photo, photo_from_array, photo_from_bytes, reduced, shown_name
from shared.errors import PhotoError

PIXELS = np.random.default_rng(1).integers(0, 256, (20, 30, 3), np.uint8)


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    path = tmp_path / "portrait.png"
    Image.fromarray(PIXELS).save(path)
    return path


def refusal(path: Path | str, **options: float) -> str:
    with pytest.raises(PhotoError) as caught:
        open_photo(path, **options)
    sentence = str(caught.value)
    assert sentence.endswith((".", "?"))
    assert "\n" not in sentence
    return sentence


class TestOpening:
    def test_what_a_photo_knows(self, picture: Path) -> None:
        photo = open_photo(str(picture))
        assert np.array_equal(photo.pixels, PIXELS)
        assert (photo.rows, photo.columns, photo.megapixels) == (20, 30, 0.0006)
        assert (photo.name, photo.path) == ("portrait.png", picture)
        assert photo.fingerprint == hashlib.sha256(picture.read_bytes()).hexdigest()

    def test_the_pixels_cannot_be_changed(self, picture: Path) -> None:
        with pytest.raises(ValueError, match="read-only"):
            open_photo(picture).pixels[0, 0] = 0

    def test_the_file_is_left_alone(self, picture: Path) -> None:
        before = picture.read_bytes(), picture.stat().st_mtime_ns
        open_photo(picture)
        assert (picture.read_bytes(), picture.stat().st_mtime_ns) == before
        assert [*picture.parent.iterdir()] == [picture]

    def test_bytes_need_no_path(self, picture: Path) -> None:
        photo = photo_from_bytes(picture.read_bytes(), name="Pasted picture")
        assert (photo.name, photo.path) == ("Pasted picture", None)
        assert np.array_equal(photo.pixels, PIXELS)

    @pytest.mark.parametrize("ending", [".jpg", ".txt", ""])
    def test_a_wrong_extension_does_not_matter(self, picture: Path, ending: str) -> None:
        assert open_photo(picture.rename(picture.with_suffix(ending))).rows == 20

    @pytest.mark.parametrize(
        "name", ["Größe ñ.png", "写真.png", "🙂.png", "a b%20c#?.png", "x" * 240 + ".png", "-o.png"]
    )
    def test_odd_names(self, picture: Path, name: str) -> None:
        photo = open_photo(picture.rename(picture.with_name(name)))
        assert photo.path is not None
        assert photo.path.name == name
        assert len(photo.name) <= 80

    def test_a_link_is_followed(self, picture: Path, tmp_path: Path) -> None:
        link = tmp_path / "link.png"
        link.symlink_to(picture)
        assert np.array_equal(open_photo(link).pixels, PIXELS)

    def test_pillow_is_left_as_it_was(self, picture: Path, tmp_path: Path) -> None:
        before = Image.MAX_IMAGE_PIXELS, list(warnings.filters)
        open_photo(picture, limit_mp=1.0)
        (tmp_path / "bad.png").write_bytes(picture.read_bytes()[:200])
        refusal(tmp_path / "bad.png")
        assert before == (Image.MAX_IMAGE_PIXELS, list(warnings.filters))

    def test_several_threads_at_once(self, picture: Path, tmp_path: Path) -> None:
        bad = tmp_path / "bad.png"
        bad.write_bytes(picture.read_bytes()[:200])
        before, start = Image.MAX_IMAGE_PIXELS, threading.Barrier(4)

        def work(path: Path) -> bool:
            start.wait()
            for _ in range(20):
                try:
                    open_photo(path)
                except PhotoError:
                    return False
            return True

        with ThreadPoolExecutor(4) as pool:
            assert [*pool.map(work, [picture, bad, picture, bad])] == [True, False, True, False]
        assert before == Image.MAX_IMAGE_PIXELS

    def test_a_matte_that_is_no_colour_is_a_fault_of_the_caller(self) -> None:
        for matte in ("black", "#12345", "#gggggg"):
            with pytest.raises(ValueError):  # noqa: PT011
                photo_from_bytes(b"x", name="x", matte=matte)


class TestUnusableFiles:
    def test_missing(self, tmp_path: Path) -> None:
        assert "gone.jpg is not there" in refusal(tmp_path / "gone.jpg")

    def test_below_a_file(self, picture: Path) -> None:
        refusal(picture / "portrait.png")

    def test_too_long_a_name(self, tmp_path: Path) -> None:
        assert len(refusal(tmp_path / ("x" * 400))) < 250

    def test_a_name_that_no_file_can_have(self) -> None:
        refusal("a\0b.jpg")

    def test_folder(self, tmp_path: Path) -> None:
        assert "is a folder" in refusal(tmp_path)
        assert "is a folder" in refusal("/")

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
    def test_pipe_does_not_hang(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe.jpg")
        assert "is not a file but" in refusal(tmp_path / "pipe.jpg")

    @pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no devices here")
    def test_device(self) -> None:
        assert "is not a file but" in refusal("/dev/zero")

    def test_dangling_and_circular_links(self, tmp_path: Path) -> None:
        (tmp_path / "a").symlink_to(tmp_path / "nowhere")
        assert "is not there" in refusal(tmp_path / "a")
        (tmp_path / "b").symlink_to(tmp_path / "b")
        refusal(tmp_path / "b")

    @pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="root may read all")
    def test_not_allowed(self, picture: Path) -> None:
        picture.chmod(0)
        assert "may not be read" in refusal(picture)

    def test_empty(self, tmp_path: Path) -> None:
        (tmp_path / "empty.jpg").touch()
        assert "is empty" in refusal(tmp_path / "empty.jpg")

    @pytest.mark.parametrize(
        "data",
        [b"\0", b"\0" * 5000, b"Dear customer,\n" * 50, b"%PDF-1.7\n", b"\x89PNG\r\n\x1a\n", b"BM"],
    )
    def test_something_else(self, tmp_path: Path, data: bytes) -> None:
        (tmp_path / "photo.jpg").write_bytes(data)
        assert "photo.jpg" in refusal(tmp_path / "photo.jpg")

    def test_too_large_a_file(self, picture: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(photo_module, "LARGEST_FILE", 100)
        assert "larger than" in refusal(picture)

    def test_the_name_is_shown_without_control_characters(self, picture: Path) -> None:
        odd = picture.with_name("a\nb\x1b[31m\udcff.png")
        odd.write_bytes(b"no picture")
        assert "a\N{REPLACEMENT CHARACTER}b" in refusal(odd)
        refusal(odd).encode()

    def test_heic_without_its_reader_says_how_to_add_it(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setitem(sys.modules, "pillow_heif", None)
        data = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(100)
        with pytest.raises(PhotoError, match="pip install pillow-heif"):
            photo_from_bytes(data, name="IMG_1.heic")


class TestLimit:
    def test_the_sentence_says_how_large_and_how_to_raise_it(self, picture: Path) -> None:
        sentence = refusal(picture, limit_mp=0.0005)
        for part in ("30 × 20", "0.0005 megapixels", "--limit-mp", "Preferences"):
            assert part in sentence

    def test_the_limit_itself_is_allowed(self, picture: Path) -> None:
        assert open_photo(picture, limit_mp=0.0006).rows == 20

    def test_our_limit_counts_and_not_that_of_pillow(
        self, picture: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 100)
        assert open_photo(picture).rows == 20
        assert Image.MAX_IMAGE_PIXELS == 100

    def test_there_may_be_no_limit_at_all(self, picture: Path) -> None:
        assert open_photo(picture, limit_mp=float("inf")).rows == 20


class TestMemory:
    @pytest.mark.parametrize("failure", [MemoryError, RecursionError, OverflowError, SystemError])
    def test_whatever_a_decoder_raises_becomes_a_sentence(
        self, picture: Path, monkeypatch: pytest.MonkeyPatch, failure: type[Exception]
    ) -> None:
        def fail(*_: object) -> None:
            raise failure

        monkeypatch.setattr(photo_decode, "decode", fail)
        assert ("memory" in refusal(picture)) == (failure is MemoryError)

    def test_stopping_the_program_is_not_swallowed(
        self, picture: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def stop(*_: object) -> None:
            raise KeyboardInterrupt

        monkeypatch.setattr(photo_decode, "decode", stop)
        with pytest.raises(KeyboardInterrupt):
            open_photo(picture)

    @pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak is not known here")
    @pytest.mark.parametrize("orientation", [1, 6])
    def test_24_megapixels_need_at_most_four_times_their_size(
        self, tmp_path: Path, orientation: int
    ) -> None:
        path = tmp_path / "large.jpg"
        ramp = np.add.outer(np.arange(4000), np.arange(6000)) % 251
        exif = Image.Exif()
        exif[0x0112] = orientation
        Image.fromarray(ramp.astype(np.uint8)).convert("RGB").save(path, exif=exif)
        script = (
            "import sys\n"
            "from engine.photo import open_photo\n"
            "def peak():\n"
            "    lines = open('/proc/self/status').read().splitlines()\n"
            "    return next(int(x.split()[1]) * 1024 for x in lines if x.startswith('VmHWM'))\n"
            "before = peak()\n"
            "size = open_photo(sys.argv[1]).pixels.nbytes\n"
            "print(size, peak() - before)\n"
        )
        command = [sys.executable, "-c", script, str(path)]
        root = Path(photo_module.__file__).parents[1]
        output = subprocess.run(command, cwd=root, check=True, capture_output=True, text=True)
        size, rise = map(int, output.stdout.split())
        assert size == 72_000_000
        assert rise <= 4 * size


class TestArrays:
    def test_the_array_is_copied(self) -> None:
        own = PIXELS.copy()
        photo = photo_from_array(own, "Pasted picture")
        own[:] = 0
        assert np.array_equal(photo.pixels, PIXELS)
        assert photo.path is None
        assert not photo.pixels.flags.writeable

    def test_the_fingerprint_tells_pictures_apart(self) -> None:
        prints = {
            photo_from_array(pixels, "x").fingerprint
            for pixels in (PIXELS, PIXELS[::-1], PIXELS.reshape(30, 20, 3), PIXELS.astype("u2"))
        }
        assert len(prints) == 4
        assert photo_from_array(PIXELS, "y").fingerprint in prints

    @pytest.mark.parametrize(
        "pixels",
        [PIXELS[..., 0], PIXELS[..., :2], PIXELS[:0], PIXELS.astype(np.float32), PIXELS.view("i1")],
    )
    def test_other_arrays_are_a_fault_of_the_caller(self, pixels: np.ndarray) -> None:
        with pytest.raises(ValueError, match="needed"):
            photo_from_array(pixels, "x")


class TestReduced:
    def test_means_over_areas(self) -> None:
        small = reduced(photo_from_array(PIXELS, "x"), 3)
        expected = PIXELS.reshape(2, 10, 3, 10, 3).mean(axis=(1, 3)) / 255.0
        assert small.dtype == np.float32
        assert np.abs(small - expected).max() <= 0.51 / 255.0

    def test_sixteen_bits_keep_theirs(self) -> None:
        deep = PIXELS.astype(np.uint16) * 257
        small = reduced(photo_from_array(deep, "x"), 15)
        expected = deep.reshape(10, 2, 15, 2, 3).mean(axis=(1, 3)) / 65535.0
        assert np.abs(small - expected).max() <= 0.51 / 65535.0

    @pytest.mark.parametrize("longest", [30, 31, 5000])
    def test_small_photos_are_not_enlarged(self, longest: int) -> None:
        small = reduced(photo_from_array(PIXELS, "x"), longest)
        assert np.array_equal(np.rint(small * 255.0), PIXELS)

    def test_thin_photos_keep_at_least_one_pixel(self) -> None:
        thin = photo_from_array(np.full((1, 5000, 3), 255, np.uint8), "x")
        assert reduced(thin, 100).shape == (1, 100, 3)
        assert reduced(thin, 100).min() == 1.0


def test_long_names_are_shortened_in_the_middle() -> None:
    assert shown_name("a.jpg") == "a.jpg"
    shown = shown_name("beginning" + "x" * 300 + "end.jpg")
    assert len(shown) == 80
    assert shown.startswith("beginning")
    assert shown.endswith("end.jpg")


def test_photos_are_compared_by_identity() -> None:
    data = io.BytesIO()
    Image.fromarray(PIXELS).save(data, "BMP")
    one, other = (photo_from_bytes(data.getvalue(), name="x") for _ in range(2))
    assert isinstance(one, Photo)
    assert one != other
    assert one.fingerprint == other.fingerprint
