"""Develop rendered light into a photograph, as a lens, a sensor and a maker's grade would.

Needs numpy and Pillow. Light comes in linear, float32, rows x columns x 3; the same light and seed
always give the same picture.
"""

from pathlib import Path

import numpy as np
from PIL import Image

EXPOSURE = 0.82
BALANCE = np.array((1.27, 0.97, 0.89), dtype=np.float32)
READ_NOISE = np.array((0.0010, 0.0008, 0.0026), dtype=np.float32)
SHOT_NOISE = np.array((0.00014, 0.00008, 0.0013), dtype=np.float32)
BLOTCH = np.array((0.0020, 0.0010, 0.010), dtype=np.float32)
KNEE = 0.72
SATURATION = 1.48
JPEG_QUALITY = 92


def develop(light: np.ndarray, seed: int = 5) -> np.ndarray:
    """The finished picture, uint8 sRGB of the same rows and columns as the linear light."""
    rng = np.random.default_rng(seed)
    seen = _through_lens(light * EXPOSURE)
    record = _on_sensor(seen, rng) * BALANCE
    return np.round(255.0 * np.clip(_grade(_film_curve(record)), 0.0, 1.0)).astype(np.uint8)


def _through_lens(light: np.ndarray) -> np.ndarray:
    """Softness of a good lens, a little glow round bright places and darker corners."""
    rows, columns = light.shape[:2]
    y = np.linspace(-1.0, 1.0, rows, dtype=np.float32)[:, None, None]
    x = np.linspace(-1.0, 1.0, columns, dtype=np.float32)[None, :, None]
    sharp = _blur(light, 0.25 + 0.40 * columns / 2400)
    glow = _blur(np.minimum(light, 2.0), columns / 60)
    return (0.965 * sharp + 0.035 * glow) * (1.0 - 0.13 * (x * x + y * y))


def _on_sensor(light: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Shot and read noise, with the coarse blotches that haunt a weak blue record."""
    size = light.shape
    noise = rng.standard_normal(size, dtype=np.float32)
    blotch = _blur(rng.standard_normal(size, dtype=np.float32), 2.2) * 7.8
    sigma = np.sqrt(np.maximum(light, 0.0) * SHOT_NOISE + READ_NOISE**2)
    return np.maximum(light + sigma * noise + BLOTCH * np.sqrt(light + 0.002) * blotch, 0.0)


def _film_curve(record: np.ndarray) -> np.ndarray:
    """Display values from 0 to 1: a soft shoulder above the knee, then an S for contrast."""
    over = np.maximum(record - KNEE, 0.0)
    held = np.minimum(record, KNEE) + 0.42 * (1.0 - np.exp(-over / 0.42))
    tone = held ** (1.0 / 2.2)
    return tone + 1.0 * tone * np.clip(1.0 - tone, 0.0, 1.0) * (tone - 0.40) - 0.028


def _grade(tone: np.ndarray) -> np.ndarray:
    """More colour in the middle tones, less towards white."""
    grey = tone @ np.array((0.30, 0.59, 0.11), dtype=np.float32)
    bright = np.clip((grey - 0.80) / 0.17, 0.0, 1.0)
    saturation = SATURATION + (0.65 - SATURATION) * bright * bright
    return grey[..., None] + (tone - grey[..., None]) * saturation[..., None]


def _blur(image: np.ndarray, sigma: float) -> np.ndarray:
    """Gaussian blur by Fourier transform with mirrored edges; sigma in pixels."""
    pad = int(4.0 * sigma) + 1
    wide = np.pad(image, ((pad, pad), (pad, pad), (0, 0)), mode="symmetric")
    fy = np.fft.fftfreq(wide.shape[0])[:, None]
    fx = np.fft.rfftfreq(wide.shape[1])[None, :]
    pass_ = np.exp(-2.0 * (np.pi * sigma) ** 2 * (fx * fx + fy * fy))
    out = np.empty_like(image)
    for k in range(image.shape[2]):
        plane = np.fft.irfft2(np.fft.rfft2(wide[..., k]) * pass_, s=wide.shape[:2])
        out[..., k] = plane[pad:-pad, pad:-pad]
    return out


def write_jpeg(pixels: np.ndarray, path: Path) -> None:
    """Write uint8 rows x columns x 3 as a JPEG at 300 pixels per inch."""
    Image.fromarray(pixels).save(
        path, quality=JPEG_QUALITY, subsampling=0, optimize=True, dpi=(300, 300)
    )
