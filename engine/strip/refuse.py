"""Why a photograph of a strip is not read: one reason and one plain sentence each."""

from shared.errors import PhotoError

REASONS = {
    "no_strip": "There is no test strip in this photo; photograph the whole strip from the front, "
    "on black, so that it fills most of the picture. If run 1, which carries the markers, was left "
    "out, burn it first, and if it left no mark, burn another strip with more power.",
    "missing": "The marker at the {where} cannot be seen; uncover and clean all corners of the "
    "strip and photograph it again, and if the marker is damaged burn another strip.",
    "cropped": "The strip runs out of the picture at the {where}; step back until all of it shows.",
    "wrong_strip": "This is another strip than the one chosen, whose number is {number}; "
    "choose the strip.json that was made with the number burnt on the glass.",
    "wrong_side": "The strip was photographed from the wrong side, so that it is mirrored; turn "
    "the glass over and photograph it through its {front}.",
    "small": "The strip is too small in this photo ({found:.1f} pixels per mm where {needed:.1f} "
    "are needed); go nearer or use the photo at its full size.",
    "tilted": "The camera looked at the strip too obliquely (about {found:.0f} degrees); hold it "
    "straight above the strip.",
    "displaced": "{runs} about {found:.1f} mm off the right place beside run 1; burn another "
    "strip, and move neither the glass nor the origin until all of its runs are burnt.",
    "distorted": "The strip is bent out of shape in this photo; lay it flat, step back and do "
    "without a wide-angle lens.",
    "blurred": "The photo or part of it is blurred; let the camera focus on the glass and hold it "
    "still.",
    "moved": "The camera moved, or the strip shows double; rest the camera on something and lay "
    "the glass straight on the black. If the frost itself is ragged, burn a strip with less power.",
    "sharpened": "The photo was sharpened so much that edges have rims; switch that off in the "
    "camera, do not edit the photo, and photograph the strip again.",
    "squeezed": "The photo is squeezed into too small a file, so that it shows blocks; use the "
    "original from the camera, not one that was sent in a message.",
    "dark": "The photo is too dark; give more light or a longer exposure.",
    "clipped": "The lightest parts of the strip are burnt out to white; expose less, uncover what "
    "is covered with something white, and photograph it again.",
    "glare": "A reflection, dirt or damage lies over the strip, or the camera evened its light out "
    "by itself (HDR); move the lamp until only the frost shines, wipe the glass, switch that off, "
    "and if the glass is chipped or scratched burn another strip.",
    "light_backing": "Bare glass is nearly as light as the frost, or lighter; lay the strip on "
    "dull black, not on anything white or bright, and do not turn the photo into its negative.",
    "veiled": "Bare glass is too light against solid patches; lay the strip on dull black and keep "
    "reflections and haze off it. If the frost itself is faint, burn a strip with more power.",
    "uneven": "The light on the strip is too uneven, or a shadow or a hair lies on it; wipe it, "
    "light it from a window or a lamp farther away, and let the camera even nothing out by itself.",
    "styled": "The camera's picture style bends the tones too much to be measured in one photo; "
    "add a second one, one stop darker, or choose a neutral style and photograph the strip again.",
    "disagree": "Patches that were burnt alike came out too differently; make sure that the number "
    "burnt on the strip is {number} and that the strip.json was made with it, clean it and "
    "photograph it again, and if that does not help burn another one.",
    "not_darker": "The second photo is {how} the first one; it measures the camera's tones when "
    "it is about one stop darker.",
    "unlike": "The two photos do not have the same tones; take both at the same place in the same "
    "light, without a filter or night mode, and change the exposure alone.",
    "flaked": "All solid patches are darker than those of less power: every setting was so strong "
    "that frost flaked off. Burn another strip with less power or at a higher speed.",
    "noisy": "The photo or the frost itself is too grainy to be measured; give more light and "
    "photograph it again, and if that does not help burn a strip on glass or at a focus that "
    "frosts more finely.",
}
"""Each reason's code and its sentence."""


class Refusal(PhotoError):
    """A photograph that cannot be trusted; `reason` is one of REASONS."""

    def __init__(self, reason: str, **facts: str | float) -> None:
        super().__init__(REASONS[reason].format(**facts))
        self.reason = reason

    def of_second(self) -> "Refusal":
        """The same, said of the second of two photos."""
        self.args = (f"The second photo: {self}",)
        return self
