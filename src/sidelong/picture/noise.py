"""Noise removal with Open Image Denoise, light by light: the one door to that library.

Each layer is filtered by itself, in high dynamic range, guided by what the surfaces are (albedo) and how they lie
(normal). Filtering each light keeps the layers free to be weighed anew afterwards. The mean of each layer is put
back exactly: the light in the picture is the light that was traced.

The filter sees linear sRGB under the layer's own mean colour, as it was trained to. In tristimulus values, where red
is a small difference of large numbers, its errors came back as red and green blotches three times as strong
(0.0089 against 0.0028 in Oklab's a over a wall, 16 samples). What lies outside that gamut is filtered as a picture
of its own and taken off again.

The albedo guide goes in as grey: its colours carry the noise of sampled wavelengths, which came through as coloured
speckles on plain walls.

Measured on a room of 360 x 240 pixels, 16 samples, against 128 (root mean square in steps of 8 bits, seconds of one
core for four lights): noisy 30.5; fast 3.9 in 0.9 s; our fast, its albedo filtered first, 3.8 in 1.4 s; our high,
both guides filtered first and then trusted, 3.4 in 5.6 s.

Source: oidn2 (the filter and its guides). Sharpness must never be measured on filtered pixels.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from sidelong.colour.adapt import BRADFORD, adaptation
from sidelong.colour.encode import RGB_TO_XYZ, XYZ_TO_RGB
from sidelong.picture.values import Notice
from sidelong.trace.values import Layers, Progress

Pixels = NDArray[np.float32]
Quality = Literal["quick", "fast", "high"]
"""How well; "quick" is "fast" with the guides as they are."""
Filter = Callable[[Mapping[str, Pixels]], Pixels]

_FILTERED_FIRST: Mapping[Quality, tuple[str, ...]] = {
    "quick": (),
    "fast": ("albedo",),
    "high": ("albedo", "normal"),
}
"""Which guides have their own noise taken out first."""
_MARGIN = 16
"""Pixels put around an image before filtering. [px]"""
_SEEN = 1e-4
"""Share of a layer's light that must lie outside the gamut to be worth a filtering of its own. [-]"""


def remove_noise(layers: Layers, quality: Quality, progress: Progress) -> tuple[Layers, Notice | None]:
    """The layers without noise, and a notice if the library is not to be had (then they come back finite but noisy).

    Every layer's mean stays, per tristimulus value; nothing comes back negative or not finite.
    """
    clean = np.nan_to_num(np.maximum(layers.xyz, 0.0), nan=0.0, posinf=0.0, neginf=0.0)
    try:
        filtered = _all_layers(clean, layers.albedo, layers.normal, quality, progress)
    except (ImportError, OSError, RuntimeError) as fault:
        text = (
            f"the noise stays in: Open Image Denoise could not be used here ({fault}); everything else holds; "
            "more samples lessen the noise, and installing pyoidn anew may bring the library back"
        )
        return dataclasses.replace(layers, xyz=clean), Notice("noise", text)
    return dataclasses.replace(layers, xyz=filtered), None


def _all_layers(xyz: Pixels, albedo: Pixels, normal: Pixels, quality: Quality, progress: Progress) -> Pixels:
    library = _library()
    if not library.Device.is_cpu_available():
        raise RuntimeError("this processor is not supported")
    lit = [i for i in range(xyz.shape[2]) if xyz[:, :, i].any()]
    result = xyz.copy()
    with library.Device() as device:
        device.commit()
        filtered = _filter(library, device, quality)
        guides = {"albedo": _grey(albedo), "normal": np.nan_to_num(normal)}
        for name in _FILTERED_FIRST[quality]:
            guides[name] = filtered({name: guides[name]})
        for done, i in enumerate(lit):
            progress(done / len(lit))
            result[:, :, i] = _one_layer(xyz[:, :, i], lambda light: filtered({"color": light, **guides}))
    progress(1.0)
    return result


def _grey(albedo: Pixels) -> Pixels:
    """The luminance of an albedo (H, W, 3), in all three channels. [-]"""
    luminance = np.clip(np.nan_to_num(albedo), 0.0, 1.0) @ RGB_TO_XYZ[1].astype(np.float32)
    return np.repeat(luminance[..., None], 3, axis=2)


def _one_layer(xyz: Pixels, smoothed: Callable[[Pixels], Pixels]) -> Pixels:
    """One light's layer (H, W, 3) through the filter, its mean kept, nothing below zero."""
    to_rgb = XYZ_TO_RGB @ _to_neutral(xyz.mean(axis=(0, 1), dtype=np.float64))
    rgb = np.asarray(xyz @ to_rgb.T, np.float32)
    inside, outside = np.maximum(rgb, 0.0), np.maximum(-rgb, 0.0)
    smooth = _same_mean(smoothed(inside), inside)
    if outside.sum(dtype=np.float64) > _SEEN * inside.sum(dtype=np.float64):
        smooth = smooth - _same_mean(smoothed(outside), outside)
    back = np.maximum(smooth @ np.linalg.inv(to_rgb).T.astype(np.float32), 0.0)
    return _same_mean(back, xyz)


def _to_neutral(mean: NDArray[np.float64]) -> NDArray[np.float64]:
    """Matrix (3, 3) that turns a layer's mean XYZ neutral; none at all for a colour too deep to adapt to."""
    cones = BRADFORD @ mean
    return adaptation(mean) if cones.min() > 0.01 * cones.max() else np.eye(3)


def _same_mean(smooth: Pixels, noisy: Pixels) -> Pixels:
    """`smooth` (H, W, 3), without what is no number, scaled so that each channel's mean is that of `noisy`."""
    finite = np.maximum(np.nan_to_num(smooth), 0.0)
    wanted, found = noisy.mean(axis=(0, 1), dtype=np.float64), finite.mean(axis=(0, 1), dtype=np.float64)
    gain = np.divide(wanted, found, out=np.zeros(3), where=found > 0.0)
    return np.asarray(np.where(found > 0.0, finite * gain, noisy), np.float32)


def _library() -> Any:
    import pyoidn  # late: slow import

    return pyoidn


def _filter(library: Any, device: Any, quality: Quality) -> Filter:
    """One run of the filter over images (H, W, 3): a guide by itself, or color with the guides albedo and normal."""
    level = library.OIDN_QUALITY_HIGH if quality == "high" else library.OIDN_QUALITY_FAST

    def run(images: Mapping[str, Pixels]) -> Pixels:
        held = {name: _widened(image) for name, image in images.items()}
        output = np.empty_like(next(iter(held.values())))
        task = library.Filter(device, library.OIDN_FILTER_TYPE_RT)
        try:
            for name, image in {**held, "output": output}.items():
                task.set_image(name, image, library.OIDN_FORMAT_FLOAT3)
            task.set_bool("hdr", "color" in held)
            task.set_bool("cleanAux", "color" in held and quality == "high")
            task.set_quality(level)
            task.commit()
            task.execute()
            fault = device.get_error()
        finally:
            task.release()
        if fault:
            raise RuntimeError(fault)
        return output[_MARGIN:-_MARGIN, _MARGIN:-_MARGIN]

    return run


def _widened(image: Pixels) -> Pixels:
    """An image (H, W, 3) mirrored outwards by a margin, since the filter leaves noise along its edges.

    Measured on an even wall, mean deviation along the edge over that inside: 4.6 without, 2.1 with 8, 1.75 with 16.
    """
    return np.pad(image, ((_MARGIN, _MARGIN), (_MARGIN, _MARGIN), (0, 0)), mode="reflect").astype(np.float32)
