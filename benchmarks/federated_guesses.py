"""What can be guessed from the tables a shop hands out: the table of docs/methods/federation.md.

Shares of instruments whose month is found within 3 by `tests/fakes/month_guessing.py`, beside
months drawn from production and matched as generously; by number of instruments and by how much
dates are blurred first.

Usage: python benchmarks/federated_guesses.py [repeats]
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from heelstamp.dating.change_quadrature import CurveGrid
from heelstamp.dating.federation.tables import CENTRES_APART, in_nats, in_steps, tabulated

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

COUNTS = (1, 5, 20, 50, 100)
BLURS = (0.0, 6.0, 12.0)


def main(repeats: int) -> None:
    """Print the table."""
    from fakes.federated_census import GROUPS, SPAN, drawn, wherry
    from fakes.month_guessing import Guesser, share_found

    model = wherry()
    grid = CurveGrid(model.completion, SPAN, CENTRES_APART)
    guessers = {blur: Guesser(grid, blur=blur) for blur in BLURS}
    production = np.arange(len(model.prior)) + model.completion.first
    for count in COUNTS:
        times = max(3, round(repeats * (10 / count) ** 0.5))
        found: dict[float, list[float]] = {blur: [] for blur in BLURS}
        chance = []
        for repeat in range(times):
            shop = drawn(count, 7000 + repeat)
            true = [float(one.completed) for one in shop]
            for blur, guesser in guessers.items():
                tables = tabulated(
                    model,
                    [one.seen for one in shop],
                    GROUPS,
                    SPAN,
                    blurred=dict.fromkeys(GROUPS, blur),
                )
                sent = [in_nats(in_steps(one.log)) for one in tables.values()]
                found[blur].append(share_found(guesser.months_in(sent, count), true))
            rng = np.random.default_rng(repeat)
            for _ in range(20):
                months = rng.choice(production, count, p=model.prior).tolist()
                chance.append(share_found(months, true))
        told = "  ".join(f"sd {blur:g}: {np.mean(some):.2f}" for blur, some in found.items())
        print(f"{count:>3} instruments, {times} shops: {told}  by chance {np.mean(chance):.2f}")
        sys.stdout.flush()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 12)
