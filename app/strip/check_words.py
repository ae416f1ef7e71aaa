"""What the check of a finished piece says."""

HOW = (
    "Lay the finished piece on dull black and photograph all of it from the front and straight "
    "above: even light, no flash, no reflections. A second photo, exposed one stop less, shows "
    "what the camera did to the tones. All is compared with the plate of take {take} as it stands "
    "now, made with the glass profile \u201c{profile}\u201d: the piece must have been burnt from "
    "just that plate."
)
REFINED_EARLIER = (
    "It was refined by a finished piece earlier; to check one that was burnt before that, choose "
    "the profile of that time in step Glass."
)
DROP = "Drop one photo or both here"
SAY_WHICH = (
    "The profile was refined since this studio was opened: say with which version the plate was "
    "made, then the photo is compared."
)
USED = (
    "The profile was refined with this photo already; another photo can refine it further, and "
    "Undo in the studio takes it back"
)
NOT_MEASURED = "Only a measured profile can be refined"
OF_PLACES = "Too much of the error goes with the place: another photo, or a whole piece, may do"
OWN_PHOTO = (
    "This is the photo that the plate was made from; choose a photo of the finished piece instead."
)
STOPPED = "The check was stopped. Choose the photo again, or another one."
