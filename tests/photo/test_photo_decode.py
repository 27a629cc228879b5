"""What comes in as a photo: taken apart by a child with limits, and whatever it is refused for said in words."""

from __future__ import annotations

import io
import warnings
import zlib

import numpy as np
import pytest
from PIL import Image
from tests.photo.pictures import file_of, plain

from pitreckon.errors import InputError
from pitreckon.photo.decode import LONGEST_SIDE, MOST_BYTES, decoded

pytestmark = pytest.mark.servers
FRAMES = [Image.new("RGB", (60, 40), (40 * n, 0, 0)) for n in range(4)]


def refused(given: bytes, words: str, **more: object) -> None:
    with pytest.raises(InputError, match=words) as raised:
        decoded(given, **more)  # type: ignore[arg-type]
    assert raised.value.remedy


def test_what_comes_out_is_the_pixels_of_the_file_that_is_kept() -> None:
    picture = decoded(plain())
    with Image.open(io.BytesIO(picture.jpeg)) as kept:
        assert np.array_equal(np.asarray(kept), picture.pixels)
    assert picture.whole == (800, 600)
    assert decoded(picture.jpeg).pixels.shape == picture.pixels.shape
    large = decoded(file_of(Image.new("RGB", (3000, 2000), (90, 60, 50))))
    assert large.pixels.shape[:2] == (LONGEST_SIDE * 2 // 3, LONGEST_SIDE)
    assert large.whole == (3000, 2000)


@pytest.mark.parametrize("kind", ["PNG", "GIF", "WEBP"])
def test_what_moves_is_refused(kind: str) -> None:
    refused(file_of(FRAMES[0], kind, save_all=True, append_images=FRAMES[1:]), "the picture moves")
    decoded(file_of(FRAMES[3], kind))


def test_a_still_with_a_second_picture_behind_it_is_one() -> None:
    """An MPO (CIPA DC-007), as phones write it."""
    assert decoded(file_of(FRAMES[3], "MPO", save_all=True, append_images=FRAMES[:1])).whole == (60, 40)


def test_what_is_no_picture_or_breaks_off() -> None:
    for given in (b"", b"GIF89a", b"\xff\xd8\xff", b"<svg xmlns='http://www.w3.org/2000/svg'/>", plain()[:300]):
        refused(given, "no photo that can be read")
    refused(plain()[:9000], "breaks off")
    refused(bytes(MOST_BYTES + 1), "too large")


def test_a_bomb_is_refused_before_it_goes_off() -> None:
    """900 million pixels in 110 kB, and as many bytes in a text of a PNG (both as in the manual of Pillow)."""
    bomb = file_of(Image.new("1", (30_000, 30_000)), "PNG")
    assert len(bomb) < 200_000
    refused(bomb, "too many pixels")
    small = file_of(Image.new("RGB", (8, 8)), "PNG")
    text = b"Comment\0\0" + zlib.compress(bytes(100_000_000), 9)
    chunk = len(text).to_bytes(4, "big") + b"zTXt" + text + zlib.crc32(b"zTXt" + text).to_bytes(4, "big")
    refused(small[:33] + chunk + small[33:], "no photo that can be read|breaks off|more memory")


def test_the_limits_of_the_child_hold() -> None:
    large = file_of(Image.new("RGB", (7000, 7000), (90, 60, 50)), "PNG")
    refused(large, "more memory", memory=160 * 2**20)
    refused(large, "longer to read", patience_s=0.05)
    assert decoded(large).whole == (7000, 7000)


def wide_profile() -> bytes:
    """A profile by ICC.1:2022 with the primaries that phones have (SMPTE EG 432-1) and a curve of exponent 2.2."""

    def fixed(value: float) -> bytes:
        return round(value * 65536).to_bytes(4, "big", signed=True)

    def xyz(*values: float) -> bytes:
        return b"XYZ \0\0\0\0" + b"".join(fixed(value) for value in values)

    curve = b"curv\0\0\0\0" + (1).to_bytes(4, "big") + round(2.2 * 256).to_bytes(2, "big") + b"\0\0"
    tags = {  # colorants in D50, as such profiles print them; they add up to its white
        b"rXYZ": xyz(0.5151, 0.2412, -0.0011),
        b"gXYZ": xyz(0.2920, 0.6922, 0.0419),
        b"bXYZ": xyz(0.1571, 0.0666, 0.7841),
        b"wtpt": xyz(0.9642, 1.0, 0.8249),
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
        b"desc": b"desc\0\0\0\0" + (2).to_bytes(4, "big") + b"w\0" + bytes(78),
        b"cprt": b"text\0\0\0\0none\0",
    }
    table, data, at = b"", b"", 128 + 4 + 12 * len(tags)
    for name, body in tags.items():
        padded = body + bytes(-len(body) % 4)
        table += name + (at + len(data)).to_bytes(4, "big") + len(body).to_bytes(4, "big")
        data += padded
    head = bytearray(128)
    head[0:4] = (at + len(data)).to_bytes(4, "big")
    head[8:12] = bytes((2, 0x40, 0, 0))
    head[12:24] = b"mntrRGB XYZ "
    head[36:40] = b"acsp"
    head[68:80] = fixed(0.9642) + fixed(1.0) + fixed(0.8249)
    return bytes(head) + len(tags).to_bytes(4, "big") + table + data


def test_a_wider_space_is_brought_to_srgb() -> None:
    """Many phones take pictures in a wider space; read as sRGB they would lose a fifth of their colour."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it tells of parts that are not installed
        import colour

    given = Image.new("RGB", (64, 64), (120, 60, 40))
    linear = (np.array([120, 60, 40]) / 255.0) ** 2.2
    spaces = colour.RGB_COLOURSPACES
    wanted = colour.cctf_encoding(colour.RGB_to_RGB(linear, spaces["Display P3"], spaces["sRGB"]), "sRGB") * 255.0
    plainly = decoded(file_of(given, quality=98))
    wide = decoded(file_of(given, quality=98, icc_profile=wide_profile()))
    assert wide.pixels[32, 32] == pytest.approx(wanted, abs=3.0)
    assert np.abs(wide.pixels[32, 32] - plainly.pixels[32, 32].astype(float)).max() > 5.0
    broken = decoded(file_of(given, quality=98, icc_profile=b"none"))
    assert np.array_equal(broken.pixels, plainly.pixels)
