"""A blend beside HiGHS alone on the same matrices: ``python -m benchmarks``.

Six invented materials, 1000 draws each, median of repeats.
"""

from __future__ import annotations

import statistics
import time
from itertools import product

from benchmarks.peer import highs_alone
from loamery.blend import Ingredient, solve_blend
from loamery.uncertain import from_range

# moisture, C, N, ash, bulk density, fines: 90 % ranges, invented for this measurement
MATERIALS = {
    "grounds": ((0.55, 0.68), (0.45, 0.52), (0.019, 0.026), (0.01, 0.03), (380, 520), (0.85, 0.99)),
    "leaves": ((0.20, 0.40), (0.44, 0.52), (0.006, 0.012), (0.06, 0.15), (60, 120), (0.01, 0.10)),
    "chips": ((0.30, 0.50), (0.45, 0.52), (0.002, 0.005), (0.01, 0.04), (220, 330), (0.03, 0.20)),
    "grass": ((0.72, 0.84), (0.40, 0.46), (0.026, 0.042), (0.08, 0.16), (180, 350), (0.02, 0.15)),
    "straw": ((0.08, 0.16), (0.42, 0.48), (0.004, 0.008), (0.05, 0.10), (60, 140), (0.01, 0.08)),
    "manure": ((0.60, 0.75), (0.36, 0.45), (0.012, 0.022), (0.12, 0.30), (500, 800), (0.20, 0.50)),
}
KINDS = ("logit", "lognormal", "lognormal", "logit", "lognormal", "logit")
OBJECTIVES = ("closest", "use_most:grounds", "least_labour", "least_bought", "most_mass")


def ingredients(draws: int = 1000) -> list[Ingredient]:
    """Return the six materials with 200 kg of each."""
    made = []
    for number, (name, spans) in enumerate(MATERIALS.items()):
        pairs = enumerate(zip(KINDS, spans, strict=True))
        wet, carbon, nitrogen, ash, rho, fines = (
            from_range(kind, *span).draw(draws, 1, name, str(i)) for i, (kind, span) in pairs
        )
        extra = {"stock_kg": 200.0, "minutes_per_kg": 1.0 + number, "cost_per_kg": float(name == "straw")}
        made.append(Ingredient(name, wet, carbon, nitrogen, None, ash, rho, fines, **extra))
    return made


def main() -> None:
    """Print milliseconds per blend and its ratio to HiGHS alone."""
    six = ingredients()
    solve_blend(six, total_kg=300)  # load the solver
    print(f"{'objective':<18}{'robust':>8}{'buckets':>9}{'ms':>8}{'HiGHS ms':>10}{'ratio':>8}{'kept':>8}")
    for objective, robust, buckets in product(OBJECTIVES, (False, True), (False, True)):
        times, alone = [], []
        for seed in range(5):
            with highs_alone() as clock:
                start = time.perf_counter()
                result = solve_blend(six, total_kg=300, objective=objective, robust=robust, buckets=buckets, seed=seed)
                times.append(time.perf_counter() - start)
            alone.append(clock.seconds)
        kept = f"{result.coverage:.0%}"
        whole, solver = 1000 * statistics.median(times), 1000 * statistics.median(alone)
        figures = f"{whole:>8.0f}{solver:>10.1f}{whole / solver:>8.1f}{kept:>8}"
        print(f"{objective:<18}{robust!s:>8}{buckets!s:>9}{figures}")


if __name__ == "__main__":
    main()
