#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Writes pairs.csv: random pairing problems and their optimum by networkx.max_weight_matching.

Values come from the generator in tests/unit/match_case.h, written once more here; compatibility and
cost are worked out with exact fractions from the definition (the highest against the lowest, the cost
of a pair the sum of round-half-up(10^9 * spread / band)).  Most pairs first, then the least cost:
max_weight_matching(maxcardinality=True) on weights BIG - cost.

Made with networkx 3.6.1 under Python 3.11:  python3 pairs.py > pairs.csv
"""
from fractions import Fraction
import networkx as nx


def draw(state):
    state[0] = (state[0] * 6364136223846793005 + 1442695040888963407) % 2**64
    return state[0] >> 33


def between(state, low, high):
    return low + draw(state) % (high - low + 1)


def span(kind, num, den, low, high):
    """Cost of one coordinate, None when out of band."""
    if high == low:
        return 0
    if kind == "relative":
        if low <= 0:
            return None
        ratio = Fraction(high - low, low) / Fraction(num, den) if num else None
    else:
        ratio = Fraction(high - low, num) if num else None
    if ratio is None or ratio > 1:
        return None
    return int(ratio * 10**9 + Fraction(1, 2))


def solve(seed, tubes, coordinates, classes, low, high, kind, num, den):
    state = [(seed * 2 + 1) % 2**64]
    rows = []
    for _ in range(tubes):
        family = between(state, 0, classes - 1)
        rows.append((family, [between(state, low, high) for _ in range(coordinates)]))
    g = nx.Graph()
    big = 10**9 * coordinates * tubes
    for i in range(tubes):
        for j in range(i + 1, tubes):
            if rows[i][0] != rows[j][0]:
                continue
            parts = [span(kind, num, den, min(a, b), max(a, b)) for a, b in zip(rows[i][1], rows[j][1])]
            if None not in parts:
                g.add_edge(i, j, weight=big - sum(parts))
    m = nx.max_weight_matching(g, maxcardinality=True)
    return len(m), sum(big - g[u][v]["weight"] for u, v in m)


print("seed,tubes,coordinates,classes,low,high,kind,num,den,pairs,cost")
for seed in range(1, 501):
    state = [seed * 7919]
    tubes = between(state, 2, 60 if seed % 10 else 90)
    coordinates = 1 + seed % 4
    classes = 1 + seed % 3 // 2
    kind = "absolute" if seed % 5 == 0 else "relative"
    # wide and narrow ranges: from many ties and nearly complete graphs to sparse ones with odd cycles
    width = [3, 10, 30, 100, 300][between(state, 0, 4)]
    low = -width // 2 if kind == "absolute" else [50, 100, 1000][between(state, 0, 2)]
    high = low + width
    if kind == "absolute":
        num, den = between(state, 0, max(1, width // 3)), 1
    else:
        num, den = between(state, 1, 20), [100, 200, 1000][between(state, 0, 2)]
    pairs, cost = solve(seed, tubes, coordinates, classes, low, high, kind, num, den)
    print(f"{seed},{tubes},{coordinates},{classes},{low},{high},{kind},{num},{den},{pairs},{cost}")
