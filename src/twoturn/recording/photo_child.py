"""The photo reader's own process: reads one picture from standard input, writes a clean JPEG to standard output.

Run by :mod:`twoturn.recording.photo` as a script, never imported by it. It gives itself limits before it looks at the
first byte: memory, processor time, no file of its own. Output: one line of JSON, then the JPEG; or one line of JSON
with the key ``error``. Nothing of the file but its picture is handed on: no EXIF, no profile, no bytes behind the end.
"""

from __future__ import annotations

import io
import json
import os
import sys
import warnings
from pathlib import Path
from typing import Any

FORMATS = ("JPEG", "PNG", "HEIF", "WEBP")
ALREADY_UPRIGHT = "HEIF"  # its library turns it as the file says
ORIENTATION = 0x0112
TURNED = range(2, 9)
SMALLER_WHILE_DECODED = ("JPEG", "MPO")
MOST_PIXELS = {True: 210_000_000, False: 110_000_000}
"""Most pixels [-] of a picture that can be made smaller while it is decoded, and of all others."""
MOST_RATIO = 50  # long side to short side: no camera makes more
QUALITY = 88
WHITE = (255, 255, 255)


class Refused(Exception):  # noqa: N818 - its text is the answer
    """The file gives no photo; the text is one of the words that the caller knows."""


def read(source: Any, long_side: int) -> tuple[dict[str, Any], bytes]:
    """The head and the JPEG of the picture in ``source``, its long side at most ``long_side`` [pixels]."""
    from PIL import Image, ImageOps

    image = Image.open(source, formats=FORMATS)
    kind = str(image.format)
    check_size(image, kind)
    frames = int(getattr(image, "n_frames", 1)) if kind not in SMALLER_WHILE_DECODED else 1
    told = image.getexif().get(ORIENTATION)
    size = image.size
    if kind in SMALLER_WHILE_DECODED:
        image.draft(None, (long_side, long_side))
    image.load()
    picture = flat(in_srgb(image))
    if kind != ALREADY_UPRIGHT and told in TURNED:
        turn = ImageOps.exif_transpose(picture)
        picture = turn if turn is not None else picture
    picture.thumbnail((long_side, long_side), Image.Resampling.LANCZOS, reducing_gap=3.0)
    out = io.BytesIO()
    clean = Image.new("RGB", picture.size)
    clean.paste(picture)
    clean.save(out, "JPEG", quality=QUALITY, optimize=True)
    head = {
        "format": kind,
        "size": size,
        "kept": clean.size,
        "turned": kind != ALREADY_UPRIGHT and told in TURNED,
        "upright_told": kind == ALREADY_UPRIGHT or told in (1, *TURNED),
        "frames": frames,
    }
    return head, out.getvalue()


def check_size(image: Any, kind: str) -> None:
    """Refuse what claims more pixels than any phone's photo has, before a pixel is decoded."""
    width, height = image.size
    if width < 1 or height < 1 or max(width, height) > MOST_RATIO * min(width, height):
        raise Refused("shape")
    if width * height > MOST_PIXELS[kind in SMALLER_WHILE_DECODED]:
        raise Refused("too many pixels")


def in_srgb(image: Any) -> Any:
    """The picture in the usual colours: phones write wider ones and say so in a profile, which is not kept."""
    from PIL import ImageCms

    profile = image.info.get("icc_profile")
    if not profile or image.mode not in ("RGB", "RGBA"):
        return image
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        turned = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"))
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return image
    return image if turned is None else turned


def flat(image: Any) -> Any:
    """The picture in red, green and blue, what can be seen through laid on white; its EXIF is kept for the turn."""
    from PIL import Image

    if image.mode in ("RGBA", "LA", "PA") or (image.mode == "P" and "transparency" in image.info):
        above = image.convert("RGBA")
        ground = Image.new("RGBA", above.size, (*WHITE, 255))
        picture = Image.alpha_composite(ground, above).convert("RGB")
    elif image.mode.startswith("I;16") or image.mode == "I":
        picture = image.point(lambda value: value / 256).convert("L").convert("RGB")
    else:
        picture = image.convert("RGB")
    if "exif" in image.info:
        picture.info["exif"] = image.info["exif"]
    return picture


def answer(source: Any, long_side: int) -> tuple[dict[str, Any], bytes]:
    """The head and the JPEG, or a head that says why there is none."""
    from PIL import Image, UnidentifiedImageError

    try:
        return read(source, long_side)
    except Refused as error:
        return {"error": str(error)}, b""
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        return {"error": "too many pixels"}, b""
    except UnidentifiedImageError:
        return {"error": "no photo"}, b""
    except MemoryError:
        return {"error": "too much memory"}, b""
    except Exception as error:  # whatever the picture library throws is one answer: damaged
        return {"error": "damaged", "detail": f"{type(error).__name__}: {error}"[:200]}, b""


def load_all() -> None:
    """Load what the library loads on first sight, while files may still be opened: by reading pictures of its own."""
    from PIL import Image, ImageCms, MpoImagePlugin  # noqa: F401 - a JPEG may turn out to be one of several

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    turned = Image.Exif()
    turned[ORIENTATION] = 6
    for kind in FORMATS:
        file = io.BytesIO()
        Image.new("RGB", (16, 8)).save(file, kind, exif=turned, icc_profile=profile)
        file.seek(0)
        read(file, 8)


def main() -> None:
    """Read standard input to standard output, within the limits given as arguments."""
    memory_bytes, seconds, long_side = (int(word) for word in sys.argv[1:4])
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # this package, installed or not
    import pillow_heif
    from PIL import Image, ImageFile

    from twoturn.recording.limits import limit_process

    ImageFile.LOAD_TRUNCATED_IMAGES = False
    Image.MAX_IMAGE_PIXELS = max(MOST_PIXELS.values())
    warnings.simplefilter("error", Image.DecompressionBombWarning)
    pillow_heif.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False, decode_threads=1)
    load_all()
    limit_process(memory_bytes, seconds, file_bytes=0, open_files=3)
    head, jpeg = answer(os.fdopen(0, "rb"), long_side)
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n")
    sys.stdout.buffer.write(jpeg)
    sys.stdout.buffer.flush()
    os._exit(0)


if __name__ == "__main__":
    main()
