"""Fits of sphere, plane, cylinder and cone by SciPy, for comparison.

Needs Python 3 with SciPy (Debian: python3-scipy; made with 1.10.1). Writes
reference.json beside itself:

    python3 reference.py

Points have noise in all directions and, in some sets, strangers at the end.
Two algorithms of SciPy fit each set without the strangers: least_squares on
the distances (MINPACK's lmder), and odr on the implicit equation (ODRPACK, P.
T. Boggs, R. H. Byrd, J. E. Rogers, R. B. Schnabel). Standard uncertainties are
those of least_squares: s^2 (J'J)^-1. Parameters are those of another
description than the program's, so that only the shape is shared.
"""
import json
import os
import numpy as np
from scipy import odr
from scipy.optimize import least_squares

rng = np.random.default_rng(20)


def turned(p):
    q, r = np.linalg.qr(rng.normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    if np.linalg.det(q) < 0:
        q[:, 0] = -q[:, 0]
    return p @ q.T + rng.uniform(-30, 30, 3), q


def axis(th, ph):
    return np.array([np.sin(th) * np.cos(ph), np.sin(th) * np.sin(ph), np.cos(th)])


def sphere(b, p):
    return np.linalg.norm(p - b[:3], axis=1) - b[3]


def plane(b, p):
    return p @ axis(b[0], b[1]) - b[2]


def tube(b, p):  # th, ph, two coordinates of the axis' foot in the plane square to it, radius
    a = axis(b[0], b[1])
    e1 = np.array([np.cos(b[0]) * np.cos(b[1]), np.cos(b[0]) * np.sin(b[1]), -np.sin(b[0])])
    e2 = np.array([-np.sin(b[1]), np.cos(b[1]), 0])
    return np.hypot(p @ e1 - b[2], p @ e2 - b[3]) - b[4]


def cone(b, p):  # th, ph, apex x, y, z, half angle
    a = axis(b[0], b[1])
    x = p - b[2:5]
    s = x @ a
    r = np.linalg.norm(x - np.outer(s, a), axis=1)
    return r * np.cos(b[5]) - s * np.sin(b[5])


def angles(a):
    return np.arccos(a[2]), np.arctan2(a[1], a[0])


def fitted(f, start, p):
    scale = np.maximum(np.abs(start), 1e-3)
    g = lambda b: f(b, p)
    r = least_squares(g, start, jac="3-point", method="lm", x_scale=scale, xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=20000)
    b = r.x
    # the derivatives once more, by central differences of a good step
    J = np.empty((len(p), len(b)))
    for i in range(len(b)):
        h = 1e-5
        up, down = b.copy(), b.copy()
        up[i] += h
        down[i] -= h
        J[:, i] = (g(up) - g(down)) / (2 * h)
    s2 = 2 * r.cost / (len(p) - len(b))
    C = s2 * np.linalg.inv(J.T @ J)
    model = odr.Model(lambda beta, x: f(beta, x.T), implicit=True)
    o = odr.ODR(odr.Data(p.T, 1), model, beta0=b + 1e-4, sstol=1e-15, partol=1e-15, maxit=2000).run()
    return b, C, float(np.sqrt(2 * r.cost / len(p))), o.beta


def described(kind, b, C):
    """What both descriptions have in common, with its uncertainty."""
    f = {
        "sphere": lambda b: [b[3], *b[:3]],
        "plane": lambda b: [*axis(b[0], b[1])],
        "cylinder": lambda b: [b[4], *axis(b[0], b[1])],
        "cone": lambda b: [b[5], *axis(b[0], b[1]), *b[2:5]],
    }[kind]
    y = np.array(f(b))
    J = np.empty((len(y), len(b)))
    for i in range(len(b)):
        up, down = b.copy(), b.copy()
        up[i] += 1e-6
        down[i] -= 1e-6
        J[:, i] = (np.array(f(up)) - np.array(f(down))) / 2e-6
    return y, np.sqrt(np.diag(J @ C @ J.T))


def points(kind, n, part, half):
    u, v = rng.uniform(0, 1, n), rng.uniform(0, 1, n)
    a = 2 * np.pi * part * u
    if kind == "sphere":
        c = 1 - 2 * part * v
        s = np.sqrt(1 - c * c)
        w = 2 * np.pi * u
        return 5 * np.c_[s * np.cos(w), s * np.sin(w), c]
    if kind == "plane":
        return np.c_[10 * u, 7 * v, 0 * u]
    h = 6 * v
    r = 3 + (h * np.tan(half) if kind == "cone" else 0)
    return np.c_[r * np.cos(a), r * np.sin(a), h]


def case(name, kind, n, part=1.0, half=0.1, noise=0.02, strangers=0):
    clean = points(kind, n, part, half)
    p = np.round(clean + rng.normal(0, noise, clean.shape), 6)
    p, q = turned(p)
    p = np.round(p, 6)
    mid = np.mean(p, axis=0)
    th, ph = angles(q[:, 2])
    e1 = np.array([np.cos(th) * np.cos(ph), np.cos(th) * np.sin(ph), -np.sin(th)])
    e2 = np.array([-np.sin(ph), np.cos(ph), 0])
    origin = mid - q @ np.mean(points(kind, n, part, half) * 0 + clean, axis=0)
    start = {
        "sphere": [*origin, 5],
        "plane": [th, ph, origin @ q[:, 2]],
        "cylinder": [th, ph, origin @ e1, origin @ e2, 3],
        "cone": [th, ph, *(origin - q[:, 2] * 3 / np.tan(half)), half],
    }[kind]
    f = {"sphere": sphere, "plane": plane, "cylinder": tube, "cone": cone}[kind]
    b, C, rms, o = fitted(f, np.array(start, float), p)
    y, u = described(kind, b, C)
    yo, _ = described(kind, o, C)
    worst = float(np.max(np.abs(y - yo) / u))
    print(f"{name}: odr differs by at most {worst:.1e} standard uncertainties")
    if strangers:
        lo, hi = p.min(axis=0) - 2, p.max(axis=0) + 2
        s = np.round(rng.uniform(lo, hi, (strangers, 3)), 6)
        p = np.vstack([p, s])
    return {"name": name, "kind": kind, "strangers": strangers, "points": p.tolist(),
            "value": y.tolist(), "standard": u.tolist(), "rms": rms, "odr": yo.tolist()}


out = [
    case("whole sphere", "sphere", 60),
    case("cap of 60 degrees", "sphere", 80, part=0.25),
    case("plane", "plane", 40),
    case("whole cylinder", "cylinder", 60),
    case("third of a cylinder", "cylinder", 80, part=1 / 3),
    case("slim cone", "cone", 80, half=0.06),
    case("wide cone", "cone", 80, half=0.6),
    case("half a cone", "cone", 100, part=0.5, half=0.2),
    case("sphere and strangers", "sphere", 60, strangers=25),
    case("plane and strangers", "plane", 60, strangers=25),
    case("cylinder and strangers", "cylinder", 90, strangers=35),
    case("cone and strangers", "cone", 90, half=0.2, strangers=35),
]
with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "reference.json"), "w") as f:
    json.dump(out, f, indent=None, separators=(",", ":"))
    f.write("\n")
