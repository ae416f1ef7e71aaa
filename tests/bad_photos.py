"""What can go wrong with a photograph of a strip, for tests: each takes a good one apart."""

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.virtual_sheet import Burnt

Photo = NDArray[np.uint8]


def linear(photo: Photo) -> NDArray[np.float64]:
    """IEC 61966-2-1, 0 to 1."""
    v = photo / 255.0
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def encoded(light: NDArray[np.float64]) -> Photo:
    """The inverse, clipped to what a file holds."""
    v = np.clip(light, 0.0, 1.0)
    v = np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)
    return np.rint(255.0 * v).astype(np.uint8)


def with_spot(photo: Photo, x: float, y: float, radius: float, strength: float) -> Photo:
    """A lamp's soft reflection at shares x, y of the picture's sides, radius in pixels."""
    rows, columns = photo.shape[:2]
    v, u = np.mgrid[0:rows, 0:columns]
    spot = strength * np.exp(-((u - x * columns) ** 2 + (v - y * rows) ** 2) / (2 * radius**2))
    return encoded(linear(photo) + spot[:, :, None])


def doubled(photo: Photo, across: float, down: float, share: float = 0.5) -> Photo:
    """Two exposures in one, the second one shifted by so many pixels."""
    light = linear(photo)
    rows, columns = photo.shape[:2]
    shift = np.array([[1.0, 0.0, across], [0.0, 1.0, down]])
    other = cv2.warpAffine(light, shift, (columns, rows), borderMode=cv2.BORDER_REPLICATE)
    return encoded((1.0 - share) * light + share * other)


def smeared(photo: Photo, across: int) -> Photo:
    """The camera moved sideways while the shutter was open."""
    return encoded(cv2.blur(linear(photo), (across, 1)))


def shaded(photo: Photo, left: float, right: float, light_left: float) -> Photo:
    """A shadow with a sharp edge: between shares left and right of the width only `light_left` of
    the light arrives."""
    columns = photo.shape[1]
    light = linear(photo)
    light[:, int(left * columns) : int(right * columns)] *= light_left
    return encoded(light)


def covered(photo: Photo, x: float, y: float, size: float, level: int) -> Photo:
    """A piece of paper or a finger over part of it; shares of the sides."""
    rows, columns = photo.shape[:2]
    hidden = photo.copy()
    top, left = int(y * rows), int(x * columns)
    hidden[top : top + int(size * rows), left : left + int(size * columns)] = level
    return hidden


def curved(photo: Photo, strength: float) -> Photo:
    """Barrel distortion of a wide-angle lens; `strength` is the share by which corners move in."""
    rows, columns = photo.shape[:2]
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32)
    u, v = x - columns / 2, y - rows / 2
    out = 1.0 + strength * (u**2 + v**2) / ((columns / 2) ** 2 + (rows / 2) ** 2)
    return cv2.remap(photo, (u * out + columns / 2), (v * out + rows / 2), cv2.INTER_LINEAR)


def waved(photo: Photo, reach: float) -> Photo:
    """The camera swayed while its shutter ran down the picture, `reach` pixels to either side."""
    rows, columns = photo.shape[:2]
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32)
    sway = np.float32(reach) * np.sin(np.float32(4.0 * np.pi / rows) * y)
    return cv2.remap(photo, x + sway, y, cv2.INTER_LINEAR)


def negative(photo: Photo) -> Photo:
    """Light and dark exchanged."""
    return np.asarray(255 - photo, np.uint8)


def on_backing(burnt: Burnt, backing: float) -> Burnt:
    """Glass on a cloth that throws back a share of the light; frost hides some of it."""
    bare, full = np.quantile(burnt.luminance, (0.01, 0.999))
    frost = np.clip((burnt.luminance - bare) / (full - bare), 0.0, 1.0)
    luminance = burnt.luminance + np.float32(0.85 * backing) * (1.0 - 0.6 * frost)
    return Burnt(luminance.astype(np.float32), burnt.sub, burnt.pitch_mm)


def with_chips(photo: Photo, places: list[tuple[float, float]], radius: float) -> Photo:
    """Chips in the glass that shine, at shares x, y of the picture's sides, radius in pixels."""
    rows, columns = photo.shape[:2]
    hurt = photo.copy()
    for x, y in places:
        cv2.circle(hurt, (int(x * columns), int(y * rows)), int(radius), (255, 255, 255), -1)
    return hurt


def scratched(photo: Photo, count: int) -> Photo:
    """Faint scratches from side to side, all of one direction."""
    rows, columns = photo.shape[:2]
    hurt = photo.copy()
    for y in np.linspace(0.35, 0.65, count):
        cv2.line(hurt, (0, int(y * rows)), (columns, int(y * rows) + 9), (130, 130, 130), 1)
    return hurt


def blurred_in_part(photo: Photo, reach: float) -> Photo:
    """Right of the middle it is out of focus, by `reach` pixels."""
    rows, columns = photo.shape[:2]
    v, u = np.mgrid[0:rows, 0:columns]
    share = np.clip(10.0 * (0.3 - np.hypot(u / columns - 0.65, v / rows - 0.5)), 0.0, 1.0)[
        ..., None
    ]
    light = linear(photo)
    return encoded((1.0 - share) * light + share * cv2.GaussianBlur(light, (0, 0), reach))


def contrasted(photo: Photo, veil: float) -> Photo:
    """Light that the glass mirrors evenly all over, as a share of white."""
    return encoded(0.5 * linear(photo) + veil)


def styled(photo: Photo, strength: float) -> Photo:
    """A camera's picture style: an S over the encoded tones."""
    v = photo / 255.0
    return np.rint(255.0 * (v - strength * np.sin(2.0 * np.pi * v) / (2.0 * np.pi))).astype(
        np.uint8
    )


def powered(photo: Photo, exponent: float = 0.8) -> Photo:
    """A camera whose tones are a power of the light."""
    return encoded(linear(photo) ** exponent)


def shouldered(photo: Photo) -> Photo:
    """Light parts pressed together, as film does."""
    light = linear(photo)
    return encoded(1.5 * light / (light + 0.5))


def veiled(photo: Photo, veil: float) -> Photo:
    """Haze or a pale wall in the glass: the same light, a share of white, over everything."""
    return encoded((1.0 - veil) * linear(photo) + veil)


def sharpened(photo: Photo, strength: float, reach: float) -> Photo:
    """Unsharp masking, as in a camera that does too much of it."""
    v = photo.astype(np.float32)
    return np.clip(v + strength * (v - cv2.GaussianBlur(v, (0, 0), reach)), 0, 255).astype(np.uint8)


def squeezed(photo: Photo, quality: int) -> Photo:
    """Sent in a message that makes files small."""
    words = [cv2.IMWRITE_JPEG_QUALITY, quality]
    _, jpeg = cv2.imencode(".jpg", np.ascontiguousarray(photo[:, :, ::-1]), words)
    return np.ascontiguousarray(cv2.imdecode(jpeg, cv2.IMREAD_COLOR)[:, :, ::-1])


def enlarged(photo: Photo, share: float) -> Photo:
    """Made smaller, to a share of its size, and as large as it was again."""
    small = cv2.resize(photo, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    return cv2.resize(small, photo.shape[1::-1], interpolation=cv2.INTER_CUBIC)


def one_channel_burnt_out(photo: Photo, gain: float) -> Photo:
    """Light of a colour that the camera took for white: its red is full before the others are."""
    return encoded(linear(photo) * np.array([gain, 1.0, 1.0]))


def with_finger(photo: Photo, x: float, y: float, radius: float) -> Photo:
    """A fingertip at shares x, y of the picture's sides, radius in pixels."""
    rows, columns = photo.shape[:2]
    v, u = np.mgrid[0:rows, 0:columns]
    share = np.clip((radius - np.hypot(u - x * columns, v - y * rows)) / 6.0 + 0.5, 0.0, 1.0)
    skin = np.array([0.35, 0.21, 0.16])
    return encoded(linear(photo) * (1.0 - share[:, :, None]) + share[:, :, None] * skin)


def dragged(photo: Photo, length: int, angle: float) -> Photo:
    """The camera moved in any direction (degrees) by so many pixels while the shutter was open."""
    kernel = np.zeros((length, length), np.float64)
    middle = (length - 1) / 2.0
    for step in np.linspace(-middle, middle, 8 * length):
        x, y = step * np.cos(np.radians(angle)), step * np.sin(np.radians(angle))
        kernel[round(middle + y), round(middle + x)] += 1.0
    return encoded(cv2.filter2D(linear(photo), -1, kernel / kernel.sum()))
