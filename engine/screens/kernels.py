"""Published kernels of error diffusion, written as they are printed.

Floyd and Steinberg, "An adaptive algorithm for spatial greyscale", SID Int. Symp. Digest (1975)
36-37; Proc. SID 17(2) (1976) 75-77. Jarvis, Judice and Ninke, Computer Graphics and Image
Processing 5 (1976) 13-40. Stucki, IBM Research Report RZ1060 (1981).
"""

import attrs


@attrs.frozen
class Kernel:
    """Which share of a pixel's error goes to whom, in whole parts of `divisor`."""

    divisor: int
    ahead: tuple[int, ...]
    """For the next pixels of the line."""
    below: tuple[tuple[int, ...], ...]
    """For the next lines, from `reach` pixels behind to `reach` ahead of this one."""
    stir: float
    """Width of the range around 1/2 in which the thresholds of the scan to and fro lie.

    Not published: measured on the spectrum of even tones (tests/reference). Floyd-Steinberg needs
    more to melt the checkerboard of the middle tone, where the length of the dots' edges, and so
    their gain on glass, would have a peak.
    """

    @property
    def reach(self) -> int:
        """Pixels to either side that the kernel touches."""
        return len(self.ahead)

    @property
    def depth(self) -> int:
        """Lines below that the kernel touches."""
        return len(self.below)


KERNELS = {
    "floyd": Kernel(16, (7,), ((3, 5, 1),), stir=0.4),
    "jarvis": Kernel(48, (7, 5), ((3, 5, 7, 5, 3), (1, 3, 5, 3, 1)), stir=0.2),
    "stucki": Kernel(42, (8, 4), ((2, 4, 8, 4, 2), (1, 2, 4, 2, 1)), stir=0.2),
}
