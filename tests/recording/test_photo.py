"""Photos from phones: upright once, without location, never larger than worth keeping; hostile files are refused.

The pictures are read back by Pillow's own decoder; EXIF is written as the EXIF standard has it.
"""

from __future__ import annotations

import hashlib
import io
import struct
import zlib

import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageCms

from twoturn.errors import RecordingError
from twoturn.recording.photo import LONG_SIDE, Photo, take_photo

RED, GREEN, BLUE, WHITE = (220, 30, 30), (30, 180, 30), (30, 30, 220), (240, 240, 240)
CORNERS = ((0.1, 0.1), (0.9, 0.1), (0.1, 0.9), (0.9, 0.9))
SECRET = b"LOCATION-OF-THE-WORKSHOP"


def picture(width: int = 320, height: int = 240) -> Image.Image:
    """Four corners of four colours: red, green, blue, white, from the upper left."""
    pixels = np.zeros((height, width, 3), dtype=np.uint8)
    pixels[: height // 2, : width // 2], pixels[: height // 2, width // 2 :] = RED, GREEN
    pixels[height // 2 :, : width // 2], pixels[height // 2 :, width // 2 :] = BLUE, WHITE
    return Image.fromarray(pixels)


def exif(orientation: int | None = None) -> Image.Exif:
    """EXIF of a phone: maker, time, location, and which way it was held."""
    made = Image.Exif()
    made[0x010F] = "Phonemaker (invented)"
    made[0x0132] = "2026:03:02 17:40:00"
    made.get_ifd(0x8825).update({1: "N", 2: (52.0, 16.0, 45.0), 3: "E", 4: (10.0, 31.0, 30.0), 29: SECRET.decode()})
    if orientation is not None:
        made[0x0112] = orientation
    return made


def encoded(image: Image.Image, kind: str, **options: object) -> bytes:
    """A picture as the bytes of a file."""
    if kind == "HEIF":
        pillow_heif.register_heif_opener()
        if isinstance(made := options.get("exif"), Image.Exif):
            options["exif"] = made.tobytes()  # only so does the encoder write the turn where HEIF wants it (irot, imir)
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def corners(photo: Photo) -> list[str]:
    """The colour nearest to each corner of what was kept, from the upper left."""
    names = {"red": RED, "green": GREEN, "blue": BLUE, "white": WHITE}
    kept = Image.open(io.BytesIO(photo.jpeg))
    found = []
    for x, y in CORNERS:
        pixel = np.array(kept.getpixel((int(x * kept.width), int(y * kept.height))), dtype=float)
        found.append(min(names, key=lambda name: float(np.abs(pixel - names[name]).sum())))
    return found


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_every_kind_a_phone_writes(kind: str) -> None:
    data = encoded(picture(), kind, exif=exif(1))
    photo = take_photo(data, "label.jpg")
    assert corners(photo) == ["red", "green", "blue", "white"]
    assert photo.original_format == ("HEIC" if kind == "HEIF" else kind)
    assert (photo.width, photo.height) == (320, 240)
    assert photo.original_sha256 == hashlib.sha256(data).hexdigest()
    assert photo.original_bytes == len(data)
    assert photo.sha256 == hashlib.sha256(photo.jpeg).hexdigest()
    assert photo.size == len(photo.jpeg)
    assert Image.open(io.BytesIO(photo.jpeg)).format == "JPEG"


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_it_is_turned_upright_once(kind: str, orientation: int) -> None:
    """Orientation as EXIF 2.32 has it (tag 274): the picture is stored so that the tag brings it upright."""
    undone = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }
    stored = picture() if orientation == 1 else picture().transpose(undone[orientation])
    photo = take_photo(encoded(stored, kind, exif=exif(orientation)), "x")
    assert corners(photo) == ["red", "green", "blue", "white"]
    assert (photo.width, photo.height) == (320, 240)
    assert photo.upright_told
    again = take_photo(photo.jpeg, "x")  # what was kept is upright and says nothing: it is never turned twice
    assert corners(again) == ["red", "green", "blue", "white"]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_nothing_of_the_exif_is_kept_and_above_all_no_location(kind: str) -> None:
    data = encoded(picture(), kind, exif=exif(6))
    assert SECRET in data
    photo = take_photo(data, "x")
    kept = Image.open(io.BytesIO(photo.jpeg))
    assert len(kept.getexif()) == 0
    assert set(kept.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    for word in (SECRET, b"Exif", b"Phonemaker", b"2026", b"http", b"ICC_PROFILE"):
        assert word not in photo.jpeg


def test_a_comment_xmp_and_what_stands_behind_the_end_are_gone() -> None:
    payload = b"<script>alert(1)</script>PK\x03\x04%PDF-1.7" + SECRET
    data = encoded(picture(), "JPEG", comment=payload, xmp=b"<x:xmpmeta>" + SECRET) + payload
    photo = take_photo(data, "two-faced.jpg")
    for word in (SECRET, b"<script", b"PK\x03\x04", b"%PDF"):
        assert word in data or word == b"<x:xmpmeta"
        assert word not in photo.jpeg


def test_a_large_photo_is_made_smaller_and_a_small_one_stays() -> None:
    large = take_photo(encoded(picture(6000, 3000), "JPEG"), "x")
    assert (large.width, large.height) == (LONG_SIDE, LONG_SIDE // 2)
    assert corners(large) == ["red", "green", "blue", "white"]
    small = take_photo(encoded(picture(200, 100), "PNG"), "x", long_side=1000)
    assert (small.width, small.height) == (200, 100)
    assert (take_photo(encoded(picture(), "PNG"), "x", long_side=100).width) == 100


def test_doubts_are_said() -> None:
    none = take_photo(encoded(picture(1000, 800), "JPEG", exif=exif(1)), "x")
    assert none.doubts == ()
    untold = take_photo(encoded(picture(1000, 800), "JPEG"), "x")
    assert not untold.upright_told
    assert any("which way is up" in doubt for doubt in untold.doubts)
    assert any("320 pixels" in doubt for doubt in take_photo(encoded(picture(), "JPEG"), "x").doubts)
    film = encoded(picture(800, 600), "WEBP", save_all=True, append_images=[picture(800, 600).rotate(180)])
    assert any("2 pictures" in doubt for doubt in take_photo(film, "x").doubts)


def test_wide_colours_are_brought_to_the_usual_ones() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    same = take_photo(encoded(picture(), "JPEG", icc_profile=profile), "x")
    assert corners(same) == ["red", "green", "blue", "white"]
    broken = take_photo(encoded(picture(), "JPEG", icc_profile=b"no profile at all" * 20), "x")
    assert corners(broken) == ["red", "green", "blue", "white"]


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "CMYK", "I;16"])
def test_every_way_of_holding_pixels(mode: str) -> None:
    image = Image.new("I;16", (64, 48), 40000) if mode == "I;16" else picture(64, 48).convert(mode)
    photo = take_photo(encoded(image, "JPEG" if mode == "CMYK" else "PNG"), "x")
    kept = Image.open(io.BytesIO(photo.jpeg))
    assert (kept.mode, kept.size) == ("RGB", (64, 48))
    if mode == "I;16":
        assert np.asarray(kept).mean() == pytest.approx(40000 / 256, abs=2)


def test_what_is_seen_through_lies_on_white() -> None:
    photo = take_photo(encoded(Image.new("RGBA", (64, 48), (0, 0, 0, 0)), "PNG"), "x")
    assert np.asarray(Image.open(io.BytesIO(photo.jpeg))).min() > 250


def _png(width: int, height: int, body: bytes) -> bytes:
    """A PNG that claims a size, by RFC 2083."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [11_000, 20_000, 60_000, 2_000_000_000])
def test_a_few_bytes_that_claim_to_be_a_huge_picture(side: int) -> None:
    with pytest.raises(RecordingError, match=r"pixels|damaged"):
        take_photo(_png(side, side, zlib.compress(b"\0" * 1000)), "bomb.png")


def test_a_whole_bomb_of_zeros_is_refused_before_it_is_unpacked() -> None:
    rows = zlib.compressobj(9)
    body = b"".join(rows.compress(b"\0" * 36_001) for _ in range(12_000)) + rows.flush()
    data = _png(12_000, 12_000, body)
    assert len(data) < 3_000_000
    with pytest.raises(RecordingError, match="more pixels"):
        take_photo(data, "bomb.png")


def test_a_text_chunk_that_swells() -> None:
    swollen = zlib.compress(b"a" * 200_000_000, 9)
    text = b"k\0\0" + swollen
    made = encoded(picture(), "PNG")
    chunk = struct.pack(">I", len(text)) + b"zTXt" + text + struct.pack(">I", zlib.crc32(b"zTXt" + text))
    at = made.index(b"IDAT") - 4
    try:
        photo = take_photo(made[:at] + chunk + made[at:], "x.png")
    except RecordingError as error:
        assert "damaged" in str(error)  # noqa: PT017 - either answer is right, a swollen process is not
    else:
        assert corners(photo) == ["red", "green", "blue", "white"]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.7, 0.95])
def test_a_file_that_is_cut_off(kind: str, share: float) -> None:
    noise = Image.fromarray(np.random.default_rng(3).integers(0, 255, (240, 320, 3), dtype=np.uint8))
    data = encoded(noise, kind)
    with pytest.raises(RecordingError, match=r"photo that can be read|cut off or damaged") as caught:
        take_photo(data[: int(share * len(data))], "cut.jpg")
    assert "cut.jpg" in str(caught.value)


@pytest.mark.parametrize(
    "data",
    [
        b"GIF89a/*" + encoded(picture(), "JPEG"),
        b"%PDF-1.7\n" + encoded(picture(), "JPEG"),
        b"<svg xmlns='http://www.w3.org/2000/svg'><image href='file:///etc/passwd'/></svg>",
        b"<!DOCTYPE html><script>1</script>",
        b"PK\x03\x04" + bytes(200),
        b"MZ" + bytes(200),
        b"push graphic-context\nfill 'url(|id)'\n",
        encoded(picture(), "TIFF"),
        encoded(picture(), "GIF"),
        encoded(picture(), "BMP"),
        encoded(picture(), "EPS"),
        b"\xff\xd8\xff" + bytes(1000),
        b"\0" * 5000,
        b"RIFF\xff\xff\xff\xffWEBPVP8X" + bytes(100),
        b"\0\0\0\x18ftypheic" + bytes(500),
        b"x",
    ],
    ids=lambda data: data[:12].hex(),
)
def test_what_is_no_photo_is_refused(data: bytes) -> None:
    with pytest.raises(RecordingError, match=r"photo") as caught:
        take_photo(data, "upload.jpg")
    assert str(caught.value).endswith(".")


def test_empty_and_oversized() -> None:
    with pytest.raises(RecordingError, match="empty"):
        take_photo(b"", "x.jpg")
    with pytest.raises(RecordingError, match="larger than"):
        take_photo(bytes(2000), "x.jpg", most_bytes=1000)


def test_a_strip_no_camera_takes() -> None:
    with pytest.raises(RecordingError, match="strip"):
        take_photo(encoded(Image.new("RGB", (6000, 2)), "PNG"), "x.png")


def test_damaged_bytes_give_a_photo_or_a_sentence() -> None:
    rng = np.random.default_rng(11)
    for kind in ("JPEG", "PNG", "WEBP", "HEIF"):
        data = encoded(picture(64, 48), kind, exif=exif(6))
        for _ in range(5):
            bad = bytearray(data)
            for place in rng.integers(0, len(bad), 8):
                bad[place] = int(rng.integers(0, 256))
            try:
                photo = take_photo(bytes(bad), "x")
            except RecordingError:
                continue
            assert SECRET not in photo.jpeg


def test_an_open_file_is_read_as_well_as_bytes() -> None:
    data = encoded(picture(), "JPEG", exif=exif(3))
    assert take_photo(io.BytesIO(data), "x") == take_photo(data, "x")
