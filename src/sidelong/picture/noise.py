"""Noise removal with Open Image Denoise, light by light: the one door to that library.

Each layer is filtered by itself, in high dynamic range, guided by what the surfaces are (albedo) and how they lie
(normal), both cleaned first. Filtering each light keeps the layers free to be weighed anew afterwards. The mean of
each layer is put back exactly: the light in the picture is the light that was traced.

Source: oidn2 (the network and its use with cleaned guides). Sharpness must never be measured on filtered pixels.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from sidelong.picture.values import Notice
from sidelong.trace.values import Layers, Progress

Pixels = NDArray[np.float32]
Quality = Literal["fast", "high"]

# XYZ of a neutral, so that greys reach the network as equal channels, as it was trained on
_NEUTRAL = np.array([0.9505, 1.0, 1.0888], np.float32)


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
        guides = {"albedo": np.clip(np.nan_to_num(albedo), 0.0, 1.0), "normal": np.nan_to_num(normal)}
        for name, guide in guides.items():
            guides[name] = _filtered(library, device, {name: guide}, hdr=False, quality=quality)
        for done, i in enumerate(lit):
            progress(done / len(lit))
            noisy = xyz[:, :, i] / _NEUTRAL
            smooth = _filtered(library, device, {"color": noisy, **guides}, hdr=True, quality=quality)
            result[:, :, i] = _same_mean(np.maximum(np.nan_to_num(smooth), 0.0) * _NEUTRAL, xyz[:, :, i])
    progress(1.0)
    return result


def _same_mean(smooth: Pixels, noisy: Pixels) -> Pixels:
    """`smooth` (H, W, 3) scaled so that each channel's mean is that of `noisy`; `noisy` where nothing was left."""
    wanted, found = noisy.mean(axis=(0, 1), dtype=np.float64), smooth.mean(axis=(0, 1), dtype=np.float64)
    if not (found > 0.0).all():
        return noisy
    return np.asarray(smooth * (wanted / found), np.float32)


def _library() -> Any:
    import pyoidn  # late: slow import

    return pyoidn


def _filtered(library: Any, device: Any, images: Mapping[str, Pixels], hdr: bool, quality: Quality) -> Pixels:
    """One run of the filter over contiguous images (H, W, 3); the answer has the shape of the first."""
    held = {name: np.ascontiguousarray(image, np.float32) for name, image in images.items()}
    output = np.empty_like(next(iter(held.values())))
    task = library.Filter(device, library.OIDN_FILTER_TYPE_RT)
    try:
        for name, image in {**held, "output": output}.items():
            task.set_image(name, image, library.OIDN_FORMAT_FLOAT3)
        task.set_bool("hdr", hdr)
        task.set_bool("cleanAux", len(held) > 1)
        task.set_quality({"fast": library.OIDN_QUALITY_FAST, "high": library.OIDN_QUALITY_HIGH}[quality])
        task.commit()
        task.execute()
        fault = device.get_error()
    finally:
        task.release()
    if fault:
        raise RuntimeError(fault)
    return output
