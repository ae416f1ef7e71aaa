"""Make the demo portrait again: a puppy in a knitted coat, rendered and developed from nothing.

Everything in the picture is grown by the files beside this one: `puppy_shape.py` (forms),
`strands.py` (fur and yarn), `sitter.py` (objects and materials), `studio.py` (canvas, lights,
camera), `scene_kit.py` (short calls for both) and `develop.py` (lens, sensor, grade). Rimetype
itself never needs any of them, nor the renderer; it only opens `portrait.jpg`.

The renderer is Blender as a Python module, which wants an environment of its own:

    python3.11 -m venv bpyvenv
    bpyvenv/bin/pip install bpy==5.0.1 pillow
    bpyvenv/bin/python resources/demo/make_portrait.py --work strips

It renders strips of the frame into the work folder, keeps those that are already there (delete the
folder to begin afresh) and then writes `portrait.jpg`. A quick look: `--width 480 --work quick
--out quick.jpg`.
"""

import argparse
import time
from pathlib import Path

import bpy
import numpy as np
import sitter
import studio
from develop import develop, write_jpeg
from strands import grow_fur, knit_yarn

HAIRS, LOCKS = 320_000, 3_600
WALES, COURSES, FIBRES = 84, 42, 120
STRIP_ROWS, OVERLAP_ROWS = 500, 16


def build(width: int, height: int) -> None:
    """Set up the whole scene for a picture of the given size in pixels."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    rng = np.random.default_rng(20)
    sitter.add_face(sitter.HEAD_POSE)
    sitter.add_fur(grow_fur(HAIRS, LOCKS, rng))
    sitter.add_coat(knit_yarn(WALES, COURSES, FIBRES, rng))
    sitter.add_collar(rng)
    studio.add_backdrop()
    studio.light_the_set()
    studio.set_camera(width, height)


def set_renderer(samples: int, threads: int) -> None:
    """Path tracing on the processor, denoised, linear 32-bit output."""
    scene = bpy.context.scene
    scene.render.engine = "CYCLES"
    cycles = scene.cycles
    cycles.device, cycles.seed = "CPU", 7
    cycles.samples, cycles.use_adaptive_sampling = samples, False
    cycles.use_denoising, cycles.denoiser = True, "OPENIMAGEDENOISE"
    cycles.max_bounces, cycles.transmission_bounces = 3, 3
    cycles.diffuse_bounces, cycles.glossy_bounces = 2, 2
    cycles.caustics_reflective = cycles.caustics_refractive = False
    scene.cycles_curves.shape = "RIBBONS"
    scene.render.threads_mode, scene.render.threads = "FIXED", threads
    scene.render.use_persistent_data = True
    scene.view_settings.view_transform = "Raw"
    scene.render.image_settings.file_format = "OPEN_EXR"
    scene.render.image_settings.color_depth = "32"


def render_strips(folder: Path) -> np.ndarray:
    """Linear light of the whole frame, rendered in strips of which the folder keeps a copy.

    The third of a pixel on a strip's edges keeps the renderer's rounding from losing a row.
    """
    render = bpy.context.scene.render
    rows = render.resolution_y
    render.use_border = render.use_crop_to_border = True
    render.border_min_x, render.border_max_x = 0.0, 1.0
    parts = []
    for start in range(0, rows, STRIP_ROWS):
        top = max(0, start - OVERLAP_ROWS)
        end = min(rows, start + STRIP_ROWS)
        bottom = min(rows, end + OVERLAP_ROWS)
        path = folder / f"strip{start // STRIP_ROWS}.exr"
        if not path.exists():
            render.border_min_y = (rows - bottom + 0.3) / rows
            render.border_max_y = (rows - top + 0.3) / rows
            render.filepath = str(path)
            bpy.ops.render.render(write_still=True)
        parts.append(read_linear(path)[start - top : end - top])
    return np.concatenate(parts)


def read_linear(path: Path) -> np.ndarray:
    """Linear light of a rendered file, float32 rows x columns x 3, top row first."""
    image = bpy.data.images.load(str(path))
    image.colorspace_settings.name = "Non-Color"
    columns, rows = image.size
    pixels = np.empty(columns * rows * 4, dtype=np.float32)
    image.pixels.foreach_get(pixels)
    return pixels.reshape(rows, columns, 4)[::-1, :, :3].copy()


def main() -> None:
    """Build, render, develop, write."""
    here = Path(__file__).resolve().parent
    parser = argparse.ArgumentParser(description="Make Rimetype's demo portrait again.")
    parser.add_argument("--work", type=Path, required=True, help="folder for rendered strips")
    parser.add_argument("--out", type=Path, default=here / "portrait.jpg")
    parser.add_argument("--width", type=int, default=2400, help="px; the height is 5/4 of it")
    parser.add_argument("--samples", type=int, default=6, help="light paths for each pixel")
    parser.add_argument("--threads", type=int, default=2)
    choice = parser.parse_args()

    began = time.monotonic()
    choice.work.mkdir(parents=True, exist_ok=True)
    build(choice.width, choice.width * 5 // 4)
    set_renderer(choice.samples, choice.threads)
    light = render_strips(choice.work)
    write_jpeg(develop(light), choice.out)
    print(f"{choice.out}: {time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main()
