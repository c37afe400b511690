"""Holds calc `air` against SciPy: the matrix exponential of the whole augmented system, and tight LSODA.

Random networks (fixed seeds) up to 40 zones x 6 classes x 12 phases, flows of 1 to 5,000 m3/h, settling of 1e-6 to 1e-2 m/s,
with filters, resuspension, surface removal, outdoor fibres and start loads. Levels, integrals and loads must agree to 1e-9
of each value (or 1e-13 of the largest, where SciPy itself has no digits left). Run with the driver's path; `--long` adds more networks.
"""
import json
import subprocess
import sys

import numpy as np
from scipy.integrate import solve_ivp
from scipy.linalg import expm

DRIVER = sys.argv[1]
LONG = "--long" in sys.argv
TOLERANCE = 1e-9


def balanced_flows(rng, n, closed=()):
    """Loops through outdoors and between zones: any sum of loops balances."""
    flows = {}

    def add(a, b, q):
        flows[(a, b)] = flows.get((a, b), 0.0) + q

    names = [f"z{i}" for i in range(n)]
    for i in range(n):
        path = ["outdoors", names[i]]
        while rng.random() < 0.6 and len(path) < 5:
            step = names[rng.integers(n)]
            if step != path[-1]:
                path.append(step)
        path.append("outdoors")
        q = 10 ** rng.uniform(0, np.log10(5000) - 0.7)
        for a, b in zip(path, path[1:]):
            add(a, b, q)
        if n > 1 and rng.random() < 0.7:
            j = rng.integers(n)
            if j != i:
                q = 10 ** rng.uniform(0, np.log10(5000))
                add(names[i], names[j], q)
                add(names[j], names[i], q)
    return [{"from": a, "to": b, "m3_per_h": q} for (a, b), q in flows.items()]


def network(rng, n, k, p):
    zones = [{"id": f"z{i}", "volume_m3": 10 ** rng.uniform(0, 2), "floor_m2": rng.choice([0.0, 1.0]) * rng.uniform(1, 40) if i else 9.0} for i in range(n)]
    for z in zones:
        if rng.random() < 0.3:
            z["start_f_per_ml"] = 10 ** rng.uniform(-4, 0)
        if z["floor_m2"] > 0 and rng.random() < 0.5:
            z["start_load_f_per_cm2"] = 10 ** rng.uniform(0, 4)
    share = rng.dirichlet(np.ones(k))
    classes = [{"id": f"c{i}", "share": s, "settling_m_per_s": 10 ** rng.uniform(-6, -2)} for i, s in enumerate(share)]
    phases = []
    for _ in range(p):
        phase = {"minutes": 10 ** rng.uniform(0, 3)}
        pick = lambda: f"z{rng.integers(n)}"
        if rng.random() < 0.6:
            phase["sources"] = [{"zone": pick(), "f_per_min": 10 ** rng.uniform(4, 8)} for _ in range(rng.integers(1, 3))]
        if rng.random() < 0.4:
            phase["flows"] = balanced_flows(rng, n)
        if rng.random() < 0.4:
            phase["filtration"] = [{"zone": pick(), "m3_per_h": rng.uniform(10, 500), "efficiency": rng.uniform(0.1, 1)}]
        if rng.random() < 0.6:
            phase["resuspension"] = [{"zone": pick(), "per_h": 10 ** rng.uniform(-5, 0)} for _ in range(2)]
        if rng.random() < 0.4:
            phase["surface_removal"] = [{"zone": pick(), "per_h": 10 ** rng.uniform(-3, 1)}]
        phases.append(phase)
    out = {"zones": zones, "flows": balanced_flows(rng, n), "classes": classes, "phases": phases, "below_f_per_ml": 0.01}
    if rng.random() < 0.5:
        out["outdoor_f_per_ml"] = 10 ** rng.uniform(-6, -3)
    return out


def system(scene, phase, flows, cls):
    """A and b for fibres in [air, floor] of one class, per hour."""
    n = len(scene["zones"])
    at = {z["id"]: i for i, z in enumerate(scene["zones"])}
    v = np.array([z["volume_m3"] for z in scene["zones"]])
    a = np.array([z["floor_m2"] for z in scene["zones"]])
    A = np.zeros((2 * n, 2 * n))
    b = np.zeros(2 * n)
    out = scene.get("outdoor_f_per_ml", 0.0) * 1e6
    for f in flows:
        q = f["m3_per_h"]
        if f["from"] == "outdoors":
            b[at[f["to"]]] += q * out * cls["share"]
            continue
        i = at[f["from"]]
        A[i, i] -= q / v[i]
        if f["to"] != "outdoors":
            A[at[f["to"]], i] += q / v[i]
    for i in range(n):
        s = cls["settling_m_per_s"] * 3600 * a[i] / v[i]
        A[i, i] -= s
        A[n + i, i] += s
    for f in phase.get("filtration", []):
        i = at[f["zone"]]
        A[i, i] -= f["m3_per_h"] * f["efficiency"] / v[i]
    for r in phase.get("resuspension", []):
        i = at[r["zone"]]
        A[n + i, n + i] -= r["per_h"]
        A[i, n + i] += r["per_h"]
    for r in phase.get("surface_removal", []):
        A[n + at[r["zone"]], n + at[r["zone"]]] -= r["per_h"]
    for s in phase.get("sources", []):
        b[at[s["zone"]]] += s["f_per_min"] * 60 * cls["share"]
    return A, b


def solve(scene, method):
    """Levels at phase ends, integrals per phase, end loads."""
    n = len(scene["zones"])
    v = np.array([z["volume_m3"] for z in scene["zones"]])
    a = np.array([z["floor_m2"] for z in scene["zones"]])
    levels = [np.zeros(n) for _ in range(len(scene["phases"]) + 1)]
    integrals = [np.zeros(n) for _ in scene["phases"]]
    load = np.zeros(n)
    for cls in scene["classes"]:
        x = np.concatenate([
            [z.get("start_f_per_ml", 0) * 1e6 * z["volume_m3"] * cls["share"] for z in scene["zones"]],
            [z.get("start_load_f_per_cm2", 0) * 1e4 * z["floor_m2"] * cls["share"] for z in scene["zones"]]])
        levels[0] += x[:n] / v / 1e6
        flows = scene["flows"]
        for p, phase in enumerate(scene["phases"]):
            flows = phase.get("flows", flows)
            A, b = system(scene, phase, flows, cls)
            hours = phase["minutes"] / 60
            m = 2 * n
            if method == "expm":
                big = np.zeros((2 * m + 1, 2 * m + 1))
                big[:m, :m] = A
                # The constant column in the size of A: SciPy scales by the norm of the whole matrix.
                unit = max(b.max(), 1e-300) / max(np.abs(A).max(), 1e-9)
                big[:m, -1] = b / unit
                big[m:2 * m, :m] = np.eye(m)
                y = expm(big * hours) @ np.concatenate([x, np.zeros(m), [unit]])
            else:
                def rhs(_, y):
                    return np.concatenate([A @ y[:m] + b, y[:m]])
                J = np.zeros((2 * m, 2 * m))
                J[:m, :m] = A
                J[m:, :m] = np.eye(m)
                y = solve_ivp(rhs, (0, hours), np.concatenate([x, np.zeros(m)]), method="LSODA", rtol=3e-14,
                              atol=1e-16 * max(x.max(), b.max() * hours, 1), jac=lambda *_: J).y[:, -1]
            x = y[:m]
            levels[p + 1] += x[:n] / v / 1e6
            integrals[p] += y[m:m + n] / v / 1e6
        load += np.divide(x[n:], a * 1e4, out=np.zeros(n), where=a > 0)
    return np.array(levels).T, np.array(integrals).T, load


def worst(ours, theirs, floor):
    ours, theirs = np.asarray(ours), np.asarray(theirs)
    scale = np.maximum(np.abs(theirs), floor * np.abs(theirs).max(initial=1e-300))
    return float(np.max(np.abs(ours - theirs) / scale, initial=0.0))


def compare(scene, method, floor):
    answer = json.loads(subprocess.run([DRIVER, "air"], input=json.dumps(scene), capture_output=True, text=True, check=True).stdout)
    levels, integrals, load = solve(scene, method)
    errors = {
        "level": worst([z["f_per_ml"] for z in answer["zones"]], levels, floor),
        "integral": worst([z["integral_f_per_ml_h"] for z in answer["zones"]], integrals, floor),
        "load": worst([z["load_f_per_cm2"] for z in answer["zones"]], load, floor),
        "balance": answer["balance"]["relative_error"] * 1e3,  # must be 1e-12 where the others may be 1e-9
    }
    return errors


def main():
    sizes = [(1, 1, 1), (2, 1, 3), (3, 2, 4), (5, 3, 6), (9, 5, 6), (12, 6, 12), (40, 1, 2)]
    more = [(4, 2, 8), (6, 2, 4), (8, 2, 3), (10, 3, 5), (16, 2, 4), (20, 2, 3), (25, 3, 6), (30, 1, 4)]  # for LSODA too
    if LONG:
        sizes += [(n, k, p) for n in (2, 4, 8, 16, 25) for k in (1, 3, 6) for p in (1, 5, 12)] + [(40, 6, 12)]
    failures = 0
    top = {}
    for method, floor, chosen in (("expm", 1e-4, sizes), ("lsoda", 1e-2, sizes + more)):
        for seed, (n, k, p) in enumerate(chosen):
            errors = compare(network(np.random.default_rng(100 + seed), n, k, p), method, floor)
            for what, error in errors.items():
                top[(method, what)] = max(top.get((method, what), 0), error)
                if not error <= TOLERANCE:
                    failures += 1
                    print(f"{method} {n} zones x {k} classes x {p} phases, seed {100 + seed}: {what} differs by {error:.2g}")
    for (method, what), error in sorted(top.items()):
        print(f"worst {what} against {method}: {error:.2g}" + (" (x 1e-3)" if what == "balance" else ""))
    cases = {"expm": len(sizes), "lsoda": len(sizes + more)}
    for method in cases:
        error = max(top[(method, what)] for what in ("level", "integral", "load"))
        print(f"agreement_air_{method} {cases[method]} {error:.2g} {error / TOLERANCE:.2g}")
    if not top or failures:
        sys.exit(1)


main()
