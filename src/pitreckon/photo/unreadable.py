"""Why a picture cannot be read, and what to do about it."""

from typing import Final

from pitreckon.errors import InputError
from pitreckon.text.said import said

REASONS: Final = {
    "small": ("the picture is too small to be read", "Send it as it was taken, not a preview of it"),
    "places": ("there are not one to five places on the meat", "Tap the meat once to five times"),
    "outside": ("the place lies outside the picture", "Tap inside it"),
    "blown white": (
        "the white is so bright that the picture has nothing left of it",
        "Tap the white on the phone's screen before you take the picture, so that it takes less light",
    ),
    "foil": (
        "what was tapped as white mirrors, or has a pattern",
        "Lay plain paper or a plain plate beside the meat: foil is no white, on neither side",
    ),
    "half in shade": (
        "the white lies half in the shade",
        "Lay meat and white in the same light, and take the picture again",
    ),
    "one colour": (
        "the light has only one colour, or the white is none",
        "Take the picture by daylight or under a white lamp, with plain paper beside the meat",
    ),
    "tinted": (
        "what was tapped as white has a colour of its own",
        "Tap plain paper or a plain white plate",
    ),
    "dark": ("the picture is too dark", "Take it in more light, or nearer to the meat with the phone's lamp"),
    "blur": ("the picture is blurred", "Hold still, tap the meat on the phone's screen, and take it again"),
    "glare": (
        "every place on the meat glares",
        "Turn the meat or yourself so that no light mirrors in it, and tap where it does not shine",
    ),
    "not white": (
        "the meat is about as bright as what was tapped as white",
        "Tap the meat and the white in the same light, the white for white",
    ),
    "whiter": (
        "something beside it is far whiter than what was tapped as white",
        "Tap that, if it lies in the same light; else lay plain paper beside the meat",
    ),
    "colourless": (
        "nothing in the picture has a colour",
        "Take it in colour, by daylight or under a white lamp",
    ),
    "no meat": (
        "that is no colour that meat takes between raw and burnt",
        "Tap bare meat, beside sauce, leaves and char",
    ),
    "unsure": (
        "the colour could be any of several steps",
        "Tap more places of the meat, or take the picture by daylight",
    ),
}
"""By key: what is so, and what to do."""


def unreadable(reason: str) -> InputError:
    """The error that says it. reason: a key of ``REASONS``"""
    trouble, remedy = REASONS[reason]
    return InputError(said(trouble), said(remedy))
