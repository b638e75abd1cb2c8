"""Fit two Langevin terms to published B-H curves of soft steels; print the parameters as TOML.

The points are not part of this repository (their licence is not an open-source one); the parameters are. Run

    python scripts/fit_steel_curves.py BH_CURVES.csv

BH_CURVES.csv: columns id, material, H (A/m), B (T), J (T), in this order. 12L14 has no published points but a
published formula for its permeability (see ``roschke``).
"""

import csv
import sys
from collections import defaultdict

import numpy as np
from scipy.optimize import minimize

from polepiece.constants import MU_0
from polepiece.materials import LangevinSteel, TwoLangevinSteel

NAMES = {
    "1006": "fe_1006", "1010": "fe_1010", "1018": "fe_1018", "1020": "fe_1020", "1117": "fe_1117",
    "416": "fe_416", "430": "fe_430", "nickel": "fe_nickel",
}  # fmt: skip
IRON = 2.16  # T, saturation of pure iron (Bozorth, from memory): no low-carbon steel has more
SATURATION_1117 = 2.06  # T, largest read for the nearest steel; the formula for 12L14 has no saturation
STARTS = [(0.3, 4.5, -0.5, 8.0), (0.3, 5.5, -0.7, 9.0), (0.3, 6.3, -1.5, 9.5), (-0.7, 5.0, -2.5, 9.0)]


def roschke():
    """12L14 by mu_r = 1 + (mu_i - 1 + c_a b)/(1 + c_b b + b^n), b = B/0.94 T (Modelica Standard Library).

    From 0.2 T, where the first term of the formula is not a fit artefact, to 1.9 T.
    """
    level = np.linspace(0.2, 1.9, 35)
    b = level / 0.94
    permeability = 1.0 + (10.0 - 1.0 + 5900.0 * b) / (1.0 + 4.19 * b + b**6.4)
    strength = level / (MU_0 * permeability)
    return strength, level - MU_0 * strength


def error(law, strength, polarization):
    return MU_0 * law.magnetization(strength)[0] - polarization


def fit(strength, polarization, largest):
    """Two terms whose saturations add up to at most ``largest`` (T)."""

    def law(logs):
        values = np.exp(np.clip(logs, -8.0, 12.0))
        return TwoLangevinSteel(
            first_saturation=values[0], a=values[1], second_saturation=values[2], second_a=values[3]
        )

    def cost(logs):
        try:
            if law(logs).saturation > largest:
                return 1.0
            return float(np.mean(error(law(logs), strength, polarization) ** 2))
        except ValueError:
            return 1.0

    options = dict(maxiter=6000, maxfev=6000, xatol=1e-6, fatol=1e-12)
    found = [minimize(cost, start, method="Nelder-Mead", options=options) for start in STARTS]
    return law(min(found, key=lambda one: one.fun).x)


def fit_single(strength, polarization):
    def cost(logs):
        one = LangevinSteel(saturation=float(np.exp(logs[0])), a=float(np.exp(logs[1])))
        return float(np.mean(error(one, strength, polarization) ** 2))

    best = minimize(cost, (np.log(0.95 * polarization.max()), 5.5), method="Nelder-Mead").x
    return LangevinSteel(saturation=float(np.exp(best[0])), a=float(np.exp(best[1])))


def main(path):
    points = defaultdict(list)
    with open(path, newline="") as stream:
        for row in list(csv.reader(stream))[1:]:
            points[row[0]].append((float(row[2]), float(row[4])))
    data = {name: tuple(np.array(sorted(points[key])).T) for name, key in NAMES.items()}
    data["12L14"] = roschke()
    for name, (strength, polarization) in data.items():
        law = fit(strength, polarization, SATURATION_1117 if name == "12L14" else IRON)
        off = error(law, strength, polarization)
        single = error(fit_single(strength, polarization), strength, polarization)
        print(
            f'"{name}" = {{ law = "two-langevin", first_saturation = {law.first_saturation:.4g}, '
            f"a = {law.a:.4g}, "
            f"second_saturation = {law.second_saturation:.4g}, second_a = {law.second_a:.4g} }}\n"
            f"fit_error = [{abs(off).max():.2g}, {np.sqrt(np.mean(off**2)):.2g}]"
            f"  # mu_i {law.initial_permeability:.0f}; a single Langevin law: max {abs(single).max():.2g} T, "
            f"rms {np.sqrt(np.mean(single**2)):.2g} T"
        )


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
