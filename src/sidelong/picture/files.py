"""A picture on disk: PNG to look at, EXR to work from, each with the shot's settings inside.

Files appear whole or not at all: each is written under a passing name in the same folder, flushed to the disk and
then renamed. Both say that they are predicted and not photographs.

Source
------
png3 (chunks, keywords), iso16684 (the XMP packet), iptc2024 (algorithmicMedia), openexr3 (layer names with dots)
"""

from __future__ import annotations

import io
import os
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from sidelong.errors import FileFault
from sidelong.picture.develop import linear
from sidelong.picture.values import Picture
from sidelong.picture.xmp import xmp_packet

PREDICTED = "predicted, not a photograph"
XMP_KEYWORD = "XML:com.adobe.xmp"
"""The keyword that the XMP standard fixes for its packet in a PNG."""

_RELATIVE_COLORIMETRIC = b"\x01"


def write_png(path: Path, srgb: NDArray[np.uint8], title: str, settings: Mapping[str, str]) -> None:
    """A PNG of sRGB pixels (H, W, 3) 8 bit with its title, its settings in words, and that it is predicted.

    Raises
    ------
    FileFault
        The file cannot be written; nothing is left of it.
    """
    said = "; ".join(f"{name} {value}" for name, value in settings.items())
    info = PngInfo()
    info.add(b"sRGB", _RELATIVE_COLORIMETRIC)
    info.add_text("Title", _plain(title))
    info.add_text("Description", _plain(f"{PREDICTED}; {said}" if said else PREDICTED))
    info.add_text("Disclaimer", PREDICTED)
    info.add_text("Software", "Sidelong")
    for name, value in settings.items():
        info.add_text(_keyword(name), _plain(value))
    info.add_itxt(XMP_KEYWORD, xmp_packet(title, PREDICTED, settings))
    held = io.BytesIO()
    Image.fromarray(srgb).save(held, "PNG", pnginfo=info, compress_level=4)
    with replacing(path) as passing:
        passing.write_bytes(held.getvalue())


def write_exr(
    path: Path,
    picture: Picture,
    blur_um: NDArray[np.float32],
    title: str,
    settings: Mapping[str, str],
    people: tuple[str, ...],
) -> None:
    """An EXR of a picture's layers, `blur_um` (H, W) being the blur's full major axis on the film. [um]

    Channels, 32-bit float: `R G B` scene-linear sRGB under the balance, middle grey 0.18, before the shoulder;
    `total.X Y Z` film exposure [lx s]; `light.NAME.X Y Z` each light's share of it; `depth` from the camera along
    the film's normal [m, inf where nothing]; `blur` [um, nan where nothing is imaged]; `person` index into the
    attribute `people`, -1 for nobody. The settings are text attributes.

    Raises
    ------
    FileFault
        The file cannot be written; nothing is left of it.
    """
    import OpenEXR  # late: slow import

    attributes: dict[str, object] = {
        "compression": OpenEXR.ZIP_COMPRESSION,
        "type": OpenEXR.scanlineimage,
        "title": title,
        "comments": PREDICTED,
        "people": "; ".join(f"{i} {name}" for i, name in enumerate(people)),
        "units": "total and lights in lx s; depth in m; blur (full major axis on the film) in um",
    }
    attributes |= {f"sidelong.{_keyword(name)}": value for name, value in settings.items()}
    with replacing(path) as passing:
        OpenEXR.File(attributes, exr_channels(picture, blur_um)).write(str(passing))


def exr_channels(picture: Picture, blur_um: NDArray[np.float32]) -> dict[str, NDArray[np.float32]]:
    """What `write_exr` writes, by channel name, each (H, W)."""
    layers, exposure = picture.layers, picture.exposure
    rgb = linear(picture.exposure_xyz, exposure.iso, exposure.balance)
    channels = {name: rgb[..., i] for i, name in enumerate("RGB")}
    channels |= {f"total.{name}": picture.exposure_xyz[..., i] for i, name in enumerate("XYZ")}
    for k, light in enumerate(channel_names(layers.names)):
        share = layers.xyz[:, :, k] * np.float32(picture.counts[k])
        channels |= {f"light.{light}.{name}": share[..., i] for i, name in enumerate("XYZ")}
    channels |= {"depth": layers.depth, "blur": blur_um, "person": layers.person.astype(np.float32)}
    return {name: np.ascontiguousarray(plane, np.float32) for name, plane in channels.items()}


def channel_names(lights: tuple[str, ...]) -> tuple[str, ...]:
    """Names of lights fit for a channel's name (no dots, no spaces, at most 60 letters), each still its own."""
    taken: list[str] = []
    for light in lights:
        plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "_" for c in light)[:60] or "light"
        number, name = 2, plain
        while name in taken:
            name, number = f"{plain}_{number}", number + 1
        taken.append(name)
    return tuple(taken)


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """A passing file that takes the place of `path` when the block ends well, and is gone if it does not.

    Raises
    ------
    FileFault
        The folder or the file cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.stem}-", suffix=path.suffix, dir=path.parent)
        os.close(handle)
    except OSError as fault:
        raise FileFault(_cannot_write(path, fault)) from fault
    passing = Path(name)
    try:
        yield passing
        with passing.open("rb+") as file:
            os.fsync(file.fileno())
        passing.chmod(0o666 & ~_mask())
        os.replace(passing, path)
    except OSError as fault:
        raise FileFault(_cannot_write(path, fault)) from fault
    finally:
        passing.unlink(missing_ok=True)


def _cannot_write(path: Path, fault: OSError) -> str:
    why = fault.strerror or str(fault)
    return f"{path}: cannot be written ({why}); a folder that can be written to was expected; name another with --out"


def _mask() -> int:
    """The process's file mode mask, which can only be read by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def _plain(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)


def _keyword(name: str) -> str:
    """A PNG keyword: 1 to 79 printable ASCII letters, no double or outer spaces."""
    return (
        " ".join("".join(c if c.isascii() and c.isprintable() else " " for c in name).split())[:79].strip() or "note"
    )
