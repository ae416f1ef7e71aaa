"""Error diffusion's loop as WebAssembly text, made for the kernel at hand.

A plane holds the drive, line after line, with `kernel.reach` zeros on both sides and
`kernel.depth` lines above. Each pixel's drive is replaced by its error once it is worked, and later
pixels gather their shares from there, in the order in which their givers came: the sums are those
of a loop that hands errors on, bit for bit.

The loop has memory `memory` and a function of byte addresses

    scan(plane, thresholds, dots, rows, columns, stride)

where `plane` is that of the first pixel, `thresholds` (float32) and `dots` (uint8: 0 or 255) are
rows x columns without gaps, and `stride` is the bytes from line to line of the plane.
"""

from string import Template

import numpy as np

from engine.screens.kernels import Kernel

FLOAT_BYTES = 4

_MODULE = Template("""
(module
  (memory (export "memory") 1)
  $forth
  $back
  (func (export "scan") (param $$plane i32) (param $$thresholds i32) (param $$dots i32)
      (param $$rows i32) (param $$columns i32) (param $$stride i32)
    (local $$row i32) (local $$last i32)
    (local.set $$last (i32.sub (local.get $$columns) (i32.const 1)))
    (loop $$line
      (if (i32.and (local.get $$row) (i32.const $turns))
        (then (call $$back
          (i32.add (local.get $$plane) (i32.mul (local.get $$last) (i32.const 4)))
          (i32.add (local.get $$thresholds) (i32.mul (local.get $$last) (i32.const 4)))
          (i32.add (local.get $$dots) (local.get $$last))
          (local.get $$columns) (local.get $$stride)))
        (else (call $$forth
          (local.get $$plane) (local.get $$thresholds) (local.get $$dots)
          (local.get $$columns) (local.get $$stride))))
      (local.set $$plane (i32.add (local.get $$plane) (local.get $$stride)))
      (local.set $$thresholds
        (i32.add (local.get $$thresholds) (i32.mul (local.get $$columns) (i32.const 4))))
      (local.set $$dots (i32.add (local.get $$dots) (local.get $$columns)))
      (local.set $$row (i32.add (local.get $$row) (i32.const 1)))
      (br_if $$line (i32.lt_u (local.get $$row) (local.get $$rows))))))
""")

_LINE = Template("""
  (func $$$name (param $$at i32) (param $$threshold i32) (param $$dot i32)
      (param $$left i32) (param $$stride i32)
    (local $$drive f32) (local $$sum f32) (local $$burns i32)
    (local $$behind1 f32) (local $$behind2 f32) (local $$above1 i32) (local $$above2 i32)
    (local.set $$above1
      (i32.sub (i32.sub (local.get $$at) (local.get $$stride)) (i32.const $margin)))
    (local.set $$above2 (i32.sub (local.get $$above1) (local.get $$stride)))
    (loop $$pixel
      (local.set $$drive (f32.load (local.get $$at)))
      (local.set $$sum (local.get $$drive))
      $gather
      (local.set $$burns (i32.or
        (f32.ge (local.get $$drive) (f32.const 1))
        (i32.and
          (f32.gt (local.get $$drive) (f32.const 0))
          (f32.ge (local.get $$sum) (f32.load (local.get $$threshold))))))
      (i32.store8 (local.get $$dot) (i32.sub (i32.const 0) (local.get $$burns)))
      (local.set $$behind2 (local.get $$behind1))
      (local.set $$behind1
        (f32.sub (local.get $$sum) (f32.convert_i32_u (local.get $$burns))))
      (f32.store (local.get $$at) (local.get $$behind1))
      (local.set $$at (i32.add (local.get $$at) (i32.const $float_step)))
      (local.set $$threshold (i32.add (local.get $$threshold) (i32.const $float_step)))
      (local.set $$above1 (i32.add (local.get $$above1) (i32.const $float_step)))
      (local.set $$above2 (i32.add (local.get $$above2) (i32.const $float_step)))
      (local.set $$dot (i32.add (local.get $$dot) (i32.const $dot_step)))
      (br_if $$pixel (local.tee $$left (i32.sub (local.get $$left) (i32.const 1))))))
""")

_TAKE = Template("""
      (local.set $$sum (f32.add (local.get $$sum) (f32.mul $error (f32.const $weight))))""")


def loop_text(kernel: Kernel, serpentine: bool) -> str:
    """The module's text; `serpentine`: every second line runs from right to left."""
    return _MODULE.substitute(
        forth=_line("forth", kernel, 1, serpentine),
        back=_line("back", kernel, -1, serpentine),
        turns=int(serpentine),
    )


def _line(name: str, kernel: Kernel, direction: int, serpentine: bool) -> str:
    """One line's function; `direction` is 1 for left to right, -1 for right to left."""
    return _LINE.substitute(
        name=name,
        margin=kernel.reach * FLOAT_BYTES,
        gather="".join(_gather(kernel, direction, serpentine)),
        float_step=direction * FLOAT_BYTES,
        dot_step=direction,
    )


def _gather(kernel: Kernel, direction: int, serpentine: bool) -> list[str]:
    """What is taken from earlier pixels: farthest line first, each in the order of its scan."""
    takes = []
    for down in range(kernel.depth, 0, -1):
        turned = serpentine and down % 2 == 1
        its_direction = -direction if turned else direction
        for ahead in range(kernel.reach, -kernel.reach - 1, -1):
            weight = kernel.below[down - 1][kernel.reach + ahead]
            column = kernel.reach - ahead * its_direction
            error = f"(f32.load offset={column * FLOAT_BYTES} (local.get $above{down}))"
            takes.append(_take(error, weight, kernel))
    behind = [
        _take(f"(local.get $behind{ahead})", kernel.ahead[ahead - 1], kernel)
        for ahead in range(kernel.reach, 0, -1)
    ]
    return takes + behind


def _take(error: str, weight: int, kernel: Kernel) -> str:
    return _TAKE.substitute(error=error, weight=float(np.float32(weight / kernel.divisor)).hex())
