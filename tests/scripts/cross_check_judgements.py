"""Recomputes judgements from their inputs with other people's code and compares to 1e-6.

Input: JSON lines as written by `tests/quantity/random.rs`. The budget is rebuilt from the inputs
(not taken from the judgement), its standard uncertainty by `uncertainties` and by `GTC`, and the
probabilities by convolving densities with `scipy`: the density of a sum of rectangles as a
B-spline or its exact piecewise polynomial, convolved with the normal by adaptive quadrature.
"""

import itertools
import json
import math
import sys

import numpy as np
from GTC import type_b, ureal, uncertainty as gtc_uncertainty
from scipy.integrate import quad
from scipy.special import ndtr
from uncertainties import ufloat

TOLERANCE = 1e-6
ALPHA = 0.00393
USUAL_LEADS = (0.1, 0.5)


def budget(case):
    """Corrected value, rectangles as (low, high), normal standard deviations."""
    value, step, offset = case["value"], case["step"], case["offset"]
    gain, digits = case["percent"] / 100, case["digits"]
    difference = value - (offset or 0.0)
    fixed = digits * step
    rectangles = [centred(gain * abs(difference) + fixed)]
    if step / 2 > fixed:
        rectangles.append(centred(step / 2))
    if offset is not None:
        rectangles.append(centred(fixed))
        if step / 2 > fixed:
            rectangles.append(centred(step / 2))
    normals = []
    if case["ohms"]:
        normals.append(case["contact"])
        if offset is not None:
            normals.append(case["contact"])
        else:
            rectangles.append((-USUAL_LEADS[1], -USUAL_LEADS[0]))
    if case["winding"]:
        at, doubt, spec = case["winding"]
        factor = (1 + ALPHA * (spec - 20)) / (1 + ALPHA * (at - 20))
        difference *= factor
        rectangles = [(low * factor, high * factor) for low, high in rectangles]
        normals = [sd * factor for sd in normals]
        rectangles.append(centred(abs(difference) * ALPHA * doubt / (1 + ALPHA * (at - 20))))
    return difference, [r for r in rectangles if r[1] > r[0]], [s for s in normals if s > 0]


def centred(half_width):
    return (-half_width, half_width)


def spline_density(half_widths):
    """Density of a sum of centred rectangles as knots and truncated-power coefficients."""
    n = len(half_widths)
    corners = []
    for signs in itertools.product((1, -1), repeat=n):
        corners.append((sum(s * a for s, a in zip(signs, half_widths)), math.prod(signs)))
    scale = 1 / math.prod(2 * a for a in half_widths) / math.factorial(n - 1)

    def density(t):
        # From the nearer end, where the truncated powers do not cancel.
        t = -abs(t)
        return max(0.0, scale * sum(s * (t + k) ** (n - 1) for k, s in corners if t + k > 0))

    return density, sorted({k for k, _ in corners})


def cumulative(half_widths, sd):
    """Cumulative distribution of the sum of centred rectangles and a normal, by quadrature."""
    if not half_widths:
        return lambda x: ndtr(x / sd) if sd else float(x >= 0)
    # A rectangle is exact for one; the rest go through the density of the others.
    widest = max(half_widths)
    others = list(half_widths)
    others.remove(widest)

    def step(x):  # the widest rectangle and the normal in closed form
        if not sd:
            return min(1.0, max(0.0, (x + widest) / (2 * widest)))

        def ramp(y):
            z = y / sd
            return y * ndtr(z) + sd * math.exp(-z * z / 2) / math.sqrt(2 * math.pi)

        return (ramp(x + widest) - ramp(x - widest)) / (2 * widest)

    if not others:
        return step
    if len(others) == 1:
        a = others[0]

        def two(x):
            kinks = [p for p in (x - widest, x + widest) if -a < p < a]
            total, _ = quad(lambda t: step(x - t), -a, a, points=kinks or None, epsabs=1e-11, limit=200)
            return total / (2 * a)

        return two
    density, knots = spline_density(others)

    def many(x):
        kinks = sorted(k for k in {*knots, x - widest, x + widest} if knots[0] < k < knots[-1])
        total, _ = quad(
            lambda t: density(t) * step(x - t), knots[0], knots[-1],
            points=kinks, epsabs=1e-10, limit=400,
        )
        return total

    return many


def standard_uncertainties(value, rectangles, normals):
    by_uncertainties = ufloat(value, 1e-300)
    by_gtc = ureal(value, 0)
    for low, high in rectangles:
        by_uncertainties += ufloat(0, (high - low) / math.sqrt(12))
        by_gtc += ureal(0, type_b.uniform((high - low) / 2))
    for sd in normals:
        by_uncertainties += ufloat(0, sd)
        by_gtc += ureal(0, sd)
    return by_uncertainties.std_dev, gtc_uncertainty(by_gtc)


def check(case):
    value, rectangles, normals = budget(case)
    worst = {"corrected": abs(value - case["corrected"])}
    by_uncertainties, by_gtc = standard_uncertainties(value, rectangles, normals)
    worst["u (uncertainties)"] = abs(by_uncertainties - case["u"])
    worst["u (GTC)"] = abs(by_gtc - case["u"])
    mean = value + sum((low + high) / 2 for low, high in rectangles)
    half_widths = [(high - low) / 2 for low, high in rectangles]
    below = cumulative(half_widths, math.sqrt(sum(sd * sd for sd in normals)))
    middle = case["high"] + case["gap"] / 2
    first, second = below(case["low"] - mean), below(middle - mean)
    expected = np.array([first, second - first, 1 - second])
    worst["weights"] = float(np.max(np.abs(expected - np.array(case["weights"]))))
    half = case["expanded"] - abs(mean - value)
    worst["coverage"] = abs(below(half) - below(-half) - 0.95)
    return worst


def main(path):
    worst, count = {}, 0
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            case = json.loads(line)
            for name, difference in check(case).items():
                if not difference <= TOLERANCE:
                    sys.exit(f"{name} differs by {difference:.3g}:\n{line}")
                worst[name] = max(worst.get(name, 0.0), difference)
            count += 1
    if count < 10_000:
        sys.exit(f"only {count} judgements")
    print(f"{count} judgements agree to {TOLERANCE}; largest differences:")
    for name, difference in worst.items():
        print(f"  {name}: {difference:.2g}")


if __name__ == "__main__":
    main(sys.argv[1])
