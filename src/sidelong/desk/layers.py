"""A traced picture's layers for the page: half floats, one picture of film exposure a light, and what weighs them.

Each layer is scaled by a power of two so that its greatest value lies just under what a half float holds: what is
lost is one part in 2048 of a pixel, down to 28 stops under the layer's brightest.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.desk.scene_light import white_table
from sidelong.picture.noise import remove_noise
from sidelong.picture.values import Picture
from sidelong.plan.stage import head_names
from sidelong.plan.values import ShotPlan
from sidelong.trace.values import Layers

GREATEST = 32768.0
"""Layers are scaled to stay under it; half floats end at 65504. [-]"""


def layers_answer(plan: ShotPlan, picture: Picture, noisy: bool = False) -> tuple[dict[str, Any], bytes]:
    """The page's layers of a picture just made: what they are, and their half floats.

    `noisy`: the picture's noise was taken out of the sum alone ("quick"), so it is taken out light by light here.
    The bytes are little-endian half floats (L, H, W, 3), XYZ; times `scales` [l] they are film exposure, in lx for
    steady light and lx s for flash. `heads` say at which `power` and under which `gels` each was traced;
    `f_number`, `shutter_s`, `iso` (less by the `nd_stops` on the lens), `balance_K` are the picture's.
    """
    layers = remove_noise(picture.layers, "fast", lambda done: None)[0] if noisy else picture.layers
    scales, halves = packed(layers)
    powers = {head.name: head.power for head in plan.light.heads}
    lights = zip(head_names(plan.shot), plan.shot.lights, strict=True)
    head = {
        "width": picture.view.width,
        "height": picture.view.height,
        "names": list(layers.names),
        "flash": [bool(f) for f in layers.flash],
        "scales": scales,
        "samples": picture.samples,
        "f_number": picture.view.setting.f_number,
        "shutter_s": picture.exposure.shutter,
        "iso": picture.exposure.iso,
        "nd_stops": math.fsum(f.stops for f in plan.shot.filters),
        "balance_K": picture.exposure.balance,
        "heads": [
            {"name": name, "power": powers.get(name, 1.0), "gels": [g.id for g in light.gels]}
            for name, light in lights
        ],
        "whites": white_table(),
    }
    return head, halves.tobytes()


def packed(layers: Layers) -> tuple[list[float], NDArray[np.float16]]:
    """Powers of two (L,) and half floats (L, H, W, 3) whose products are the layers' XYZ."""
    light_first = np.moveaxis(layers.xyz, 2, 0)
    greatest = np.abs(light_first).max(axis=(1, 2, 3), initial=0.0)
    scales = [2.0 ** math.ceil(math.log2(g / GREATEST)) if g > 0 else 1.0 for g in map(float, greatest)]
    halves = light_first / np.array(scales, np.float32)[:, None, None, None]
    return scales, np.ascontiguousarray(halves.astype("<f2"))


def unpacked(head: dict[str, Any], data: bytes) -> NDArray[np.float32]:
    """XYZ (H, W, L, 3) of what `layers_answer` gave."""
    shape = (len(head["names"]), head["height"], head["width"], 3)
    halves = np.frombuffer(data, "<f2").reshape(shape).astype(np.float32)
    return np.moveaxis(halves * np.array(head["scales"], np.float32)[:, None, None, None], 0, 2)


def halved(head: dict[str, Any], data: bytes) -> tuple[dict[str, Any], bytes]:
    """What `layers_answer` gave at half the size, for a small screen: the mean of each two by two pixels.

    Light adds up, so that a mean of exposures is what a coarser film would have got. A last odd row or column is left
    out; a picture of one pixel's width stays as it is.
    """
    width, height = head["width"] // 2, head["height"] // 2
    if not width or not height:
        return head, data
    halves = np.frombuffer(data, "<f2").reshape(len(head["names"]), head["height"], head["width"], 3)
    fours = halves[:, : 2 * height, : 2 * width].reshape(len(head["names"]), height, 2, width, 2, 3)
    mean = fours.mean(axis=(2, 4), dtype=np.float32)
    return {**head, "width": width, "height": height}, np.ascontiguousarray(mean.astype("<f2")).tobytes()
