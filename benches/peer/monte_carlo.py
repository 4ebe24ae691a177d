"""The same draws as benches/src/bin/monte_carlo.rs with numpy: 1,000,000 draws of ten inputs, 95 % interval."""

import json
import time

import numpy as np

DRAWS = 1_000_000
RUNS = 9


def once(seed: int) -> tuple[float, float]:
    generator = np.random.default_rng(seed)
    total = np.zeros(DRAWS)
    for place in range(4):
        total += generator.normal(0.0, 0.05 + 0.01 * place, DRAWS)
    for place in range(3):
        half = (0.05 + 0.01 * place) * np.sqrt(3.0)
        total += generator.uniform(-half, half, DRAWS)
    half = 0.05 * np.sqrt(6.0)
    total += generator.triangular(-half, 0.0, half, DRAWS)
    for place in range(2):
        total += (0.05 + 0.01 * place) * generator.standard_t(9.0, DRAWS)
    total.sort()
    inside = round(0.95 * DRAWS)
    start = (DRAWS - inside) // 2
    return total[start], total[start + inside]


times = []
for seed in range(RUNS):
    begin = time.perf_counter()
    low, high = once(seed)
    times.append(time.perf_counter() - begin)
times.sort()
print(json.dumps({"draws": DRAWS, "fastest_s": times[0], "median_s": times[RUNS // 2], "low": low, "high": high}))
