"""Milliseconds that SciPy's LSODA takes for one draw of bench/event_bench.cpp's problem (given as JSON), compiled right-hand
side aside: the Jacobian is given, each size class is solved by itself, integrals as states."""
import json
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

problem = json.loads(sys.argv[1])
n = problem["n"]


def run():
    for settled in problem["settled"]:
        x = np.zeros(2 * n)
        for phase in problem["phases"]:
            A = np.zeros((2 * n, 2 * n))
            for i in range(n):
                A[i, i] -= problem["lost"][i] + settled[i]
                A[n + i, i] += settled[i]
                A[n + i, n + i] -= phase["raised"] + phase["cleaned"]
                A[i, n + i] += phase["raised"]
            for (a, b), ab, ba in zip(problem["joined"], problem["a_to_b"], problem["b_to_a"]):
                A[a, a] -= ab
                A[b, a] += ab
                A[b, b] -= ba
                A[a, b] += ba
            source = np.zeros(2 * n)
            source[n - 1] = phase["source"]
            J = np.zeros((4 * n, 4 * n))
            J[:2 * n, :2 * n] = A
            J[2 * n:, :2 * n] = np.eye(2 * n)
            b = np.concatenate([source, np.zeros(2 * n)])
            y = solve_ivp(lambda t, y: J @ y + b, (0, phase["hours"]), np.concatenate([x, np.zeros(2 * n)]), method="LSODA",
                          rtol=problem["rtol"], atol=1e-3, jac=lambda t, y: J, t_eval=np.array(problem["fractions"]) * phase["hours"])
            x = y.y[:2 * n, -1]


run()
start = time.process_time()
run()
print((time.process_time() - start) * 1e3)
