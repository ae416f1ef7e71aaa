"""The one place where arrays become QImages, and pasted QImages become arrays."""

from typing import TYPE_CHECKING

from PySide6.QtGui import QImage, qRgb

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def image_from_array(
    pixels: "NDArray[np.uint8]", colours: "NDArray[np.uint8] | None" = None
) -> QImage:
    """A QImage with a buffer of its own, in the form that is painted soonest.

    `pixels` is uint8, 0 to 255: rows x columns for grey, rows x columns x 3 for sRGB; contiguous
    or not. `colours`, uint8, 256 x 3, are what greys are shown in. Raises ValueError for any other
    type or shape, and for an empty array.
    """
    import numpy as np

    if pixels.dtype != np.uint8 or pixels.size == 0:
        raise ValueError(f"a picture needs uint8 pixels, not {pixels.size} of {pixels.dtype}")
    if pixels.ndim == 2 and colours is not None:
        form = QImage.Format.Format_Indexed8
    elif pixels.ndim == 2:
        form = QImage.Format.Format_Grayscale8
    elif pixels.ndim == 3 and pixels.shape[2] == 3:
        form = QImage.Format.Format_RGB888
    else:
        raise ValueError(f"a picture needs rows x columns (x 3), not {pixels.shape}")
    packed = np.ascontiguousarray(pixels)
    rows, columns = packed.shape[:2]
    image = QImage(packed.data, columns, rows, packed.size // rows, form)
    if form == QImage.Format.Format_Indexed8:
        image.setColorTable([qRgb(*colour) for colour in np.asarray(colours).tolist()])
    return image.convertToFormat(QImage.Format.Format_RGB32)


def array_from_image(image: QImage) -> "NDArray[np.uint8]":
    """Red, green, blue and opacity of a picture: uint8, rows x columns x 4, 0 to 255.

    The colours are not premultiplied. Raises ValueError for a null image.
    """
    import numpy as np

    if image.isNull():
        raise ValueError("the picture is empty")
    rgba = image.convertToFormat(QImage.Format.Format_RGBA8888)
    rows, columns = rgba.height(), rgba.width()
    lines = np.frombuffer(rgba.constBits(), np.uint8).reshape(rows, rgba.bytesPerLine())
    return lines[:, : columns * 4].reshape(rows, columns, 4).copy()
