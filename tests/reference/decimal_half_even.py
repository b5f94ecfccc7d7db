# SPDX-License-Identifier: MIT
"""Write decimal_half_even.csv: numbers as typed, a number of decimals, and the scaled integer.

The rule is python3's own decimal module, quantize with ROUND_HALF_EVEN (General Decimal Arithmetic
Specification; IEEE 754-2019 roundTiesToEven), in 60-digit precision:

    scaled = int(Decimal(text).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN).scaleb(decimals))

Rows: every tie and its two neighbours for small mantissas of both signs, the same at 15 digits, and
drawn numbers of 1 to 15 digits.  A row whose result passes 10^18 says "too large".
"""
import decimal
import random

decimal.getcontext().prec = 60
LIMIT = 10**18


def typed(mantissa, places):
    sign = "-" if mantissa < 0 else ""
    digits = str(abs(mantissa)).rjust(places + 1, "0")
    return sign + (digits if places == 0 else digits[:-places] + "." + digits[-places:])


def row(text, decimals):
    step = decimal.Decimal(1).scaleb(-decimals)
    rounded = decimal.Decimal(text).quantize(step, decimal.ROUND_HALF_EVEN)
    scaled = int(rounded.scaleb(decimals))
    return f"{text},{decimals},{scaled if abs(scaled) <= LIMIT else 'too large'}"


rows = []
for sign in (1, -1):
    for whole in (0, 1, 2, 3, 8, 9, 10, 99, 100):
        for tail in (49, 50, 51):
            for decimals in (0, 1, 3):
                rows.append(row(typed(sign * (whole * 100 + tail), decimals + 2), decimals))
    for mantissa in (999999999999999, 999999999999995, 999999999999985, 100000000000000, 5, 15):
        for places in (1, 7, 12, 13, 14, 15):
            for decimals in (0, 6, 12):
                rows.append(row(typed(sign * mantissa, places), decimals))
    for whole in (999999, 1000000, 1000001, 999999999999999):
        for decimals in (0, 2, 3, 4, 12):
            rows.append(row(str(sign * whole), decimals))
draw = random.Random(7064)
for _ in range(200):
    mantissa = draw.randrange(10 ** draw.randint(1, 15)) * draw.choice((1, -1))
    rows.append(row(typed(mantissa, draw.randint(0, 15)), draw.randint(0, 12)))
with open(__file__.replace(".py", ".csv"), "w", newline="\n") as out:
    print("text,decimals,scaled", *dict.fromkeys(rows), sep="\n", file=out)
