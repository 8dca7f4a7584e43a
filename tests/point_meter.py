"""A meter in closed form for shoots in the open with bare tubes: what the tracer would read, without tracing.

A head is a point: its flux over 4 pi times the distance squared. The sun gives its normal illuminance by the cosine,
the sky half of what it gives on level ground on anything upright; what a spot meter sees of it is its mean luminance.
Nothing reflects.
"""

import math

import numpy as np

from sidelong.trace.values import Metered


def point_meter(stage, receptors, samples=0, seed=0, excess=None, progress=None):
    """As sidelong.trace.meter.meter reads such a stage."""
    lights = [*((e.name, e.kind == "flash") for e in stage.emitters)]
    if stage.daylight is not None:
        lights += [("sun", False), ("sky", False)]
    value = np.array([_row(stage, receptor) for receptor in receptors]).reshape(len(receptors), len(lights))
    metered = Metered(
        tuple(name for name, _ in lights),
        tuple(flash for _, flash in lights),
        value,
        np.zeros_like(value),
        value,
        np.zeros((*value.shape, 3)),
    )
    if excess is not None:
        assert excess(metered).shape == (len(receptors),)
    return metered


def _row(stage, receptor):
    if receptor.spot is not None:
        heads = [0.0 for _ in stage.emitters]
        return heads if stage.daylight is None else [*heads, 0.0, stage.daylight.sky_horizontal / math.pi]
    normal = np.array(receptor.normal)
    row = []
    for emitter in stage.emitters:
        away = np.array(emitter.at) - np.array(receptor.at)
        distance = float(np.linalg.norm(away))
        row.append(emitter.flux / (4 * math.pi * distance**2) * _response(float(away @ normal) / distance, receptor))
    if stage.daylight is not None:
        row.append(stage.daylight.sun_normal * _response(float(np.array(stage.daylight.to_sun) @ normal), receptor))
        row.append(stage.daylight.sky_horizontal / 2)
    return row


def _response(cosine, receptor):
    return (1 + cosine) / 2 if receptor.dome else max(cosine, 0.0)
