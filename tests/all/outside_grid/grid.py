"""Values that bend, on a fine grid of stick positions: written from the formulas of DESIGN section 4, for NumPy.

Standard input holds JSON with a list of "models" and a list of "curves"; standard output gives, in the same order:

models: for each, the sent pulse at the asked places, and the least and greatest pulse found on a grid of both sticks, narrowed down
        around the best places.
curves: for each, the values of a published implementation at the asked places: SciPy's PchipInterpolator for rounded curves,
        numpy.interp for straight ones; both held at the end values outside the points.
"""

import json
import sys

import numpy as np
from scipy.interpolate import PchipInterpolator

COARSE = 601
FINE = 41
ROUNDS = 5
BEST = 4


def pchip(points, x):
    """Piecewise cubic Hermite interpolation with the slopes of DESIGN 4.3; constant outside the points."""
    xs = np.array([p[0] for p in points], float)
    ys = np.array([p[1] for p in points], float)
    h = np.diff(xs)
    d = np.diff(ys) / h
    n = len(xs)
    m = np.zeros(n)
    if n == 2:
        m[:] = d[0]
    else:
        for i in range(1, n - 1):
            before, after = d[i - 1], d[i]
            if before * after <= 0:
                continue
            w1 = 2 * h[i] + h[i - 1]
            w2 = h[i] + 2 * h[i - 1]
            m[i] = (w1 + w2) / (w1 / before + w2 / after)

        def end(h0, h1, d0, d1):
            s = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
            if s * d0 <= 0:
                return 0.0
            if d0 * d1 <= 0 and abs(s) > 3 * abs(d0):
                return 3 * d0
            return s

        m[0] = end(h[0], h[1], d[0], d[1])
        m[-1] = end(h[-1], h[-2], d[-1], d[-2])
    x = np.clip(x, xs[0], xs[-1])
    i = np.clip(np.searchsorted(xs, x, side="right") - 1, 0, n - 2)
    t = (x - xs[i]) / h[i]
    return (
        ys[i] * (1 + 2 * t) * (1 - t) ** 2
        + h[i] * m[i] * t * (1 - t) ** 2
        + ys[i + 1] * t**2 * (3 - 2 * t)
        + h[i] * m[i + 1] * t**2 * (t - 1)
    )


def straight(points, x):
    return np.interp(x, [p[0] for p in points], [p[1] for p in points])


def shaped(model, stick, x):
    """Rates: y = r (k x^3 + (1 - k) x), x in -1..1."""
    rate, k = (part / 100 for part in model["rates"][stick])
    x = x / 100
    return 100 * rate * (k * x**3 + (1 - k) * x)


def value(model, tree, sticks):
    word, *of = tree
    if word == "percent":
        return np.full_like(sticks[0], of[0])
    if word == "stick":
        return shaped(model, of[0], sticks[of[0]])
    if word == "unshaped":
        return sticks[of[0]]
    if word == "curve":
        curve = model["curves"][of[0]]
        x = value(model, of[1], sticks)
        return pchip(curve["points"], x) if curve["rounded"] else straight(curve["points"], x)
    parts = [value(model, part, sticks) for part in of]
    if word == "negate":
        return -parts[0]
    a, b = parts
    return {
        "min": np.minimum,
        "max": np.maximum,
        "add": np.add,
        "subtract": np.subtract,
        "multiply": lambda a, b: a * b / 100,
    }[word](a, b)


def sent(model, sticks):
    """Output: reversed, subtrim, travel, and the pulse of a scale of 1500 us plus-minus 500 us."""
    v = value(model, model["value"], sticks)
    v = -v if model["reversed"] else v
    v = np.clip(v + model["subtrim"], *model["travel"])
    return 1500 + 500 * v / 100


def square(model, low, high, steps):
    a, b = np.meshgrid(*(np.linspace(l, h, steps) for l, h in zip(low, high)), indexing="ij")
    sticks = [a.ravel(), b.ravel()]
    return sticks, sent(model, sticks)


def extreme(model, sticks, pulses, sign):
    """The greatest of sign * pulse: the best places of the coarse grid, each narrowed down."""
    best = []
    for at in np.argsort(sign * pulses)[::-1]:
        place = np.array([stick[at] for stick in sticks])
        if all(np.max(np.abs(place - other)) > 2.0 for other in best):
            best.append(place)
        if len(best) == BEST or len(best) > 0 and sign * pulses[at] < sign * pulses.max() * (1 - sign * 0.002):
            break
    found = sign * np.max(sign * pulses)
    for place in best:
        reach = 200 / (COARSE - 1)
        for _ in range(ROUNDS):
            low, high = np.clip(place - reach, -100, 100), np.clip(place + reach, -100, 100)
            near, there = square(model, low, high, FINE)
            at = np.argmax(sign * there)
            place = np.array([stick[at] for stick in near])
            found = sign * max(sign * found, sign * there[at])
            reach /= FINE / 4
    return float(found)


def answer(model):
    asked = [np.array(axis, float) for axis in model["places"]]
    sticks, pulses = square(model, [-100, -100], [100, 100], COARSE)
    return {
        "pulses": sent(model, asked).tolist(),
        "least": extreme(model, sticks, pulses, -1),
        "greatest": extreme(model, sticks, pulses, 1),
    }


def published(curve):
    x = np.array(curve["places"], float)
    points = np.array(curve["points"], float)
    if not curve["rounded"]:
        return straight(points, x).tolist()
    return PchipInterpolator(points[:, 0], points[:, 1])(np.clip(x, points[0, 0], points[-1, 0])).tolist()


asked = json.load(sys.stdin)
json.dump({"models": [answer(m) for m in asked["models"]], "curves": [published(c) for c in asked["curves"]]}, sys.stdout)
