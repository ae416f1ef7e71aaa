"""The loop that lets dots settle, as WebAssembly text.

The loop has memory `memory` and a function of byte addresses

    settle(states, errors, rows, columns, state_stride, error_stride)

of the first pixel in two planes: `states`, bytes, with a rim of one, and `errors`, float32, with a
rim of REACH. States are FREE, DOT and FIXED. It goes through the pixels line by line; a dot whose
move to a free neighbour lowers the sum of squares of the blurred error most is moved.
"""

from string import Template

REACH = 4
TAPS = (2.0, 5.0, 11.0, 17.0, 20.0, 17.0, 11.0, 5.0, 2.0)
"""One axis of the weight with which two errors disturb each other: the blur twice, a Gaussian of
1.84 pixels. Whole numbers: float32 sums are exact, and the dots the same on every machine."""
FREE, DOT, FIXED = 0, 1, 2
UNIT = 1024.0
"""What a dot counts; a drive is rounded to this many steps."""

_MODULE = Template("""
(module
  (memory (export "memory") 1)
  $put
  $take
  (func (export "settle") (param $$states i32) (param $$errors i32)
      (param $$rows i32) (param $$columns i32) (param $$s_stride i32) (param $$e_stride i32)
    (local $$state i32) (local $$error i32) (local $$left i32) (local $$to i32) (local $$e_to i32)
    (local $$best f32) (local $$cost f32)
    (loop $$line
      (local.set $$state (local.get $$states))
      (local.set $$error (local.get $$errors))
      (local.set $$left (local.get $$columns))
      (loop $$pixel
        (if (i32.eq (i32.load8_u (local.get $$state)) (i32.const $dot)) (then
          (local.set $$to (i32.const 0))
          (local.set $$best (f32.load (local.get $$error)))
          $look
          (if (local.get $$to) (then
            (i32.store8 (local.get $$state) (i32.const $free))
            (i32.store8 (local.get $$to) (i32.const $dot))
            (call $$take (local.get $$error) (local.get $$e_stride))
            (call $$put (local.get $$e_to) (local.get $$e_stride))))))
        (local.set $$state (i32.add (local.get $$state) (i32.const 1)))
        (local.set $$error (i32.add (local.get $$error) (i32.const 4)))
        (br_if $$pixel (local.tee $$left (i32.sub (local.get $$left) (i32.const 1)))))
      (local.set $$states (i32.add (local.get $$states) (local.get $$s_stride)))
      (local.set $$errors (i32.add (local.get $$errors) (local.get $$e_stride)))
      (br_if $$line (local.tee $$rows (i32.sub (local.get $$rows) (i32.const 1))))))
)""")

_LOOK = Template("""
          (if (i32.eqz (i32.load8_u (i32.add (local.get $$state) $s_way))) (then
            (local.set $$cost (f32.add (f32.const $cost)
              (f32.load (i32.add (local.get $$error) $e_way))))
            (if (f32.lt (local.get $$cost) (local.get $$best)) (then
              (local.set $$best (local.get $$cost))
              (local.set $$to (i32.add (local.get $$state) $s_way))
              (local.set $$e_to (i32.add (local.get $$error) $e_way))))))""")


def settle_text() -> str:
    """The module's text."""
    ways = [(down, ahead) for down in (-1, 0, 1) for ahead in (-1, 0, 1) if down or ahead]
    return _MODULE.substitute(
        put=_spread("put", "add"),
        take=_spread("take", "sub"),
        look="".join(_look(*way) for way in ways),
        free=FREE,
        dot=DOT,
    )


def _look(down: int, ahead: int) -> str:
    """Whether the neighbour is free, and better than the best so far."""
    alone = TAPS[REACH] ** 2 - TAPS[REACH + down] * TAPS[REACH + ahead]
    return _LOOK.substitute(
        s_way=_way("$s_stride", down, ahead),
        e_way=_way("$e_stride", down, 4 * ahead),
        cost=alone * UNIT,
    )


def _way(stride: str, down: int, ahead: int) -> str:
    rows = f"(i32.mul (i32.const {down}) (local.get {stride}))"
    return f"(i32.add {rows} (i32.const {ahead}))"


def _spread(name: str, operation: str) -> str:
    """A function that adds a dot's blurred error to the plane, or takes it away."""
    start = f"(i32.sub (local.get $at) (i32.const {4 * REACH}))"
    back = f"(i32.mul (local.get $stride) (i32.const {REACH}))"
    lines = [f"(local.set $at (i32.sub {start} {back}))"]
    for tap in TAPS:
        weights = [tap * other * UNIT for other in TAPS]
        for first in (0, 4):
            four = " ".join(str(weight) for weight in weights[first : first + 4])
            value = f"(v128.load offset={4 * first} (local.get $at))"
            changed = f"(f32x4.{operation} {value} (v128.const f32x4 {four}))"
            lines.append(f"(v128.store offset={4 * first} (local.get $at) {changed})")
        value = "(f32.load offset=32 (local.get $at))"
        changed = f"(f32.{operation} {value} (f32.const {weights[8]}))"
        lines.append(f"(f32.store offset=32 (local.get $at) {changed})")
        lines.append("(local.set $at (i32.add (local.get $at) (local.get $stride)))")
    body = "\n    ".join(lines)
    return f"(func ${name} (param $at i32) (param $stride i32)\n    {body})"
