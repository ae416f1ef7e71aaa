"""What lies beside a strip's file: the look of its cells."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.testing import assert_array_equal

from engine.strip.judge_photo import read_look
from engine.strip.make_files import write_strip
from shared.errors import InputError
from tests import strip_in_a_folder as strips


def test_a_look_of_another_size_than_the_cells_is_refused(tmp_path: Path) -> None:
    made = strips.made()
    write_strip(made, tmp_path)
    assert_array_equal(read_look(tmp_path, made.strip), made.cell_look)
    other = np.ascontiguousarray(made.cell_look[:-1])
    cv2.imwrite(str(tmp_path / made.strip.cell_look), other)
    with pytest.raises(InputError, match="not of the size of this strip's cells"):
        read_look(tmp_path, made.strip)
