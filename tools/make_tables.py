"""Writes the tables of numbers that Sidelong ships, from the libraries that carry them.

Run once by hand when a table has to change; the program itself reads only the small files written here, so that
it starts fast and needs neither library to plan a shoot.

    python tools/make_tables.py
"""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1] / "src" / "sidelong"


def write(path: Path, source: str, columns: list[str], rows: np.ndarray) -> None:
    """A table as text: two lines of comment (source, columns), then numbers."""
    path.parent.mkdir(parents=True, exist_ok=True)
    lines = [f"# {source}", "# " + ",".join(columns)]
    lines += [",".join(f"{v:.12g}" for v in row) for row in rows]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def colorimetry() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour.colorimetry import SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES as DAYLIGHT

        import colour

    grid = np.arange(360.0, 831.0, 5.0)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    values = np.stack([observer[w] for w in grid])
    write(
        ROOT / "spectra/tables/observer_1931.csv",
        "CIE 1931 2-degree standard observer, CIE 018 / ISO/CIE 11664-1, every 5 nm; y is V(lambda)",
        ["nm", "x", "y", "z"],
        np.column_stack([grid, values]),
    )
    basis = [DAYLIGHT[name] for name in ("S0", "S1", "S2")]
    columns = [np.interp(grid, sd.wavelengths, sd.values) for sd in basis]
    write(
        ROOT / "spectra/tables/daylight_basis.csv",
        "CIE 15, components of the daylight illuminants, every 5 nm (linear between the published 10 nm)",
        ["nm", "S0", "S1", "S2"],
        np.column_stack([grid, *columns]),
    )


def atmosphere() -> None:
    from pvlib.spectrum import spectrl2

    coefficients = spectrl2.__globals__["_SPECTRL2_COEFFS"]
    keep = (coefficients["wavelength"] >= 340) & (coefficients["wavelength"] <= 870)
    names = ["wavelength", "spectral_irradiance_et", "water_vapor_absorption", "ozone_absorption", "mixed_absorption"]
    write(
        ROOT / "light/tables/clear_air.csv",
        "Bird and Riordan, SERI/TR-215-2436 (1984), table 2-1: sun outside the air [W/m2/nm], absorption of water "
        "vapour [1/cm], ozone [1/atm-cm] and mixed gases [1/km]",
        ["nm", "sun", "water", "ozone", "gases"],
        np.column_stack([coefficients[name][keep] for name in names]),
    )


def sun_position() -> None:
    from pvlib import spa

    rows = [
        (series, power, *term)
        for series, letter in enumerate("LBR")
        for power in range(6)
        if hasattr(spa, f"{letter}{power}")
        for term in getattr(spa, f"{letter}{power}")
    ]
    write(
        ROOT / "light/tables/earth_terms.csv",
        "Reda and Andreas, NREL/TP-560-34302 (2008), table A4.2; series 0 longitude, 1 latitude, 2 radius",
        ["series", "power", "A", "B", "C"],
        np.array(rows),
    )
    write(
        ROOT / "light/tables/nutation_terms.csv",
        "Reda and Andreas, NREL/TP-560-34302 (2008), table A4.3: multiples of X0..X4, then a, b, c, d",
        ["Y0", "Y1", "Y2", "Y3", "Y4", "a", "b", "c", "d"],
        np.column_stack([spa.NUTATION_YTERM_ARRAY, spa.NUTATION_ABCD_ARRAY]),
    )


if __name__ == "__main__":
    colorimetry()
    atmosphere()
    sun_position()
