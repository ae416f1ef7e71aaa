"""The sRGB curve, luminance and CIE lightness, exactly and by table.

Sources: IEC 61966-2-1:1999 (sRGB), ITU-R BT.601 and BT.709 (luma), CIE 15 and
ISO/CIE 11664-4 (L*).
"""

from collections.abc import Callable, Iterator
from typing import Any, cast

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.floating[Any]]
Grey = NDArray[np.float32]

LUMA_601 = (0.299, 0.587, 0.114)
LUMA_709 = (0.2126, 0.7152, 0.0722)
# The middle row of the sRGB to XYZ matrix; the same figures as BT.709, but for linear light.
LUMINANCE = (0.2126, 0.7152, 0.0722)

TABLE_TOP = 65535
BAND_PIXELS = 65536
_CUBE_FROM = (6.0 / 29.0) ** 3
_LINE_SLOPE = 1.0 / (3.0 * (6.0 / 29.0) ** 2)


def srgb_decode(v: ArrayLike) -> Floats:
    """Encoded sRGB 0..1 to linear light 0..1; any shape, float32 stays float32."""
    v = _as_floats(v)
    return np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.0) + 0.055) / 1.055) ** 2.4)


def srgb_encode(v: ArrayLike) -> Floats:
    """Linear light 0..1 to encoded sRGB 0..1; any shape, float32 stays float32."""
    v = _as_floats(v)
    return np.where(v <= 0.0031308, 12.92 * v, 1.055 * np.maximum(v, 0.0) ** (1 / 2.4) - 0.055)


def lightness_from_luminance(y: ArrayLike) -> Floats:
    """Luminance 0..1 (1 is the white) to CIE L* 0..100; any shape, float32 stays float32."""
    y = _as_floats(y)
    f = np.where(y > _CUBE_FROM, np.cbrt(y), y * _LINE_SLOPE + 4.0 / 29.0)
    return 116.0 * f - 16.0


def luminance_from_lightness(lightness: ArrayLike) -> Floats:
    """CIE L* 0..100 to luminance 0..1; the inverse of `lightness_from_luminance`."""
    f = (_as_floats(lightness) + 16.0) / 116.0
    return np.where(f > 6.0 / 29.0, f**3, (f - 4.0 / 29.0) / _LINE_SLOPE)


def luminance(rgb: ArrayLike) -> Floats:
    """Encoded sRGB 0..1, shape (..., 3), to relative luminance 0..1, shape (...)."""
    linear = srgb_decode(rgb)
    return linear @ np.asarray(LUMINANCE, linear.dtype)


def curve_table(curve: Callable[[Floats], Floats]) -> Grey:
    """A curve over 0..1 as 65536 float32 values, for `look_up`."""
    return curve(np.arange(TABLE_TOP + 1) / TABLE_TOP).astype(np.float32)


def look_up(values: Grey, table: NDArray[Any]) -> NDArray[Any]:
    """A curve applied by table; the fast way for whole pictures.

    `values`: float32, rows x columns or rows x columns x 3; outside 0..1 the ends hold. They are
    rounded to 16 bits, so the result is off by at most 7.7e-6 times the slope of the curve. It has
    the shape of the values and the type of the table.
    """
    result = np.empty(values.shape, table.dtype)
    for band in bands(values.shape[0], values.shape[1]):
        cv2.LUT(_codes(values[band]), table, dst=result[band])
    return result


def eight_bit(codes: NDArray[Any]) -> NDArray[np.uint8]:
    """Codes of a picture as uint8, any shape: uint16 divided by 257 and rounded down, uint8 as
    they are."""
    return codes if codes.dtype == np.uint8 else np.asarray(codes // 257, np.uint8)


def bands(rows: int, columns: int) -> Iterator[slice]:
    """Slices of rows that cover a picture in parts small enough to stay in the cache."""
    height = max(1, BAND_PIXELS // columns)
    return (slice(top, top + height) for top in range(0, rows, height))


def _codes(values: Grey) -> NDArray[np.uint16]:
    codes = cv2.addWeighted(values, float(TABLE_TOP), values, 0.0, 0.0, dtype=cv2.CV_16U)
    return cast("NDArray[np.uint16]", codes)


def _as_floats(values: ArrayLike) -> Floats:
    array = np.asarray(values)
    return array if array.dtype == np.float32 else array.astype(np.float64)
