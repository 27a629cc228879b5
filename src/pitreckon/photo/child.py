"""The child that takes a picture apart: a program of its own, with little memory and little time, and no other work.

Run by its path and isolated from everything else of ours: bytes of a picture come in, and out goes one line of JSON,
then the picture made anew as a JPEG of its pixels alone, then the pixels of that. Whatever a decoder does wrong, it
does it here.
"""

import io
import json
import struct
import sys
import warnings
import zlib
from collections.abc import Callable
from typing import Any

from PIL import (  # with the readers of ``FORMATS``: not all are there by themselves
    GifImagePlugin,  # noqa: F401
    Image,
    ImageCms,
    ImageOps,
    JpegImagePlugin,  # noqa: F401
    PngImagePlugin,  # noqa: F401
    WebPImagePlugin,  # noqa: F401
)

FORMATS = ("JPEG", "PNG", "WEBP", "GIF")
STUMBLES = (
    OSError,
    ValueError,
    SyntaxError,
    TypeError,
    LookupError,
    ArithmeticError,
    EOFError,
    struct.error,
    zlib.error,
)
"""What a decoder may raise over bytes that are no picture; the fuzzer found that it is more than its pages say."""


def limited(memory: int, cpu_s: int) -> None:
    """No more memory [bytes] and time of the processor [s] than that, and no file written; where a system can do so."""
    try:
        import resource  # noqa: PLC0415  not every system has it
    except ImportError:  # the parent's clock and the count of pixels hold there
        return
    for what, most in (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_CPU, cpu_s),
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_CORE, 0),
    ):
        hard = resource.getrlimit(what)[1]
        try:
            resource.setrlimit(what, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))
        except (OSError, ValueError):
            continue


def upright(given: bytes, most_pixels: int, side: int) -> tuple[Any, tuple[int, int]]:
    """The picture as it was held, in sRGB, and its whole size [pixels]. Raises SystemExit: it is none, and why not."""
    Image.MAX_IMAGE_PIXELS = most_pixels
    try:
        opened = Image.open(io.BytesIO(given), formats=FORMATS)
    except Image.DecompressionBombError:
        raise SystemExit("too many pixels") from None
    except STUMBLES:
        raise SystemExit("no picture") from None
    with opened:
        if opened.width * opened.height > most_pixels:
            raise SystemExit("too many pixels")
        # An MPO is a JPEG with a second small picture behind it, as some phones write for a still.
        if opened.format != "MPO" and getattr(opened, "n_frames", 1) > 1:
            raise SystemExit("it moves")
        try:
            profile = opened.info.get("icc_profile")
            whole = opened.size
            opened.draft("RGB", (2 * side, 2 * side))  # a JPEG is opened no larger than it is needed
            held = ImageOps.exif_transpose(opened)
        except Image.DecompressionBombError:
            raise SystemExit("too many pixels") from None
        except STUMBLES:
            raise SystemExit("damaged") from None
    turned = (held.width > held.height) != (opened.width > opened.height)
    return _in_srgb(held, profile), (whole[::-1] if turned else whole)


def _in_srgb(picture: Any, profile: bytes | None) -> Any:
    """In sRGB: many phones take their pictures in a wider space and say so in a profile."""
    if profile and picture.mode == "RGB":
        try:
            own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            return ImageCms.profileToProfile(picture, own, ImageCms.createProfile("sRGB"), outputMode="RGB")
        except (ImageCms.PyCMSError, *STUMBLES):
            pass
    return picture.convert("RGB")


def made(given: bytes, asked: dict[str, int]) -> tuple[dict[str, Any], bytes, bytes]:
    """What is said of it, the JPEG, and its pixels row by row."""
    picture, whole = upright(given, asked["pixels"], asked["side"])
    picture.thumbnail((asked["side"], asked["side"]))
    plain = Image.new("RGB", picture.size)
    plain.paste(picture)
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=asked["quality"], optimize=True)
    with Image.open(io.BytesIO(out.getvalue())) as again:
        pixels = again.convert("RGB").tobytes()
    said = {"size": list(plain.size), "whole": list(whole), "jpeg": out.tell()}
    return said, out.getvalue(), pixels


def main(read: Callable[[], bytes], write: Callable[[bytes], object]) -> None:
    """Read, limit, take apart, answer."""
    asked = json.loads(sys.argv[1])
    given = read()
    limited(asked["memory"], asked["cpu_s"])
    warnings.simplefilter("ignore")
    jpeg = pixels = b""
    try:
        said, jpeg, pixels = made(given, asked)
    except SystemExit as reason:
        said = {"why": str(reason)}
    except MemoryError:
        said = {"why": "too much memory"}
    write(json.dumps(said).encode() + b"\n")
    write(jpeg)
    write(pixels)


if __name__ == "__main__":
    main(sys.stdin.buffer.read, sys.stdout.buffer.write)
