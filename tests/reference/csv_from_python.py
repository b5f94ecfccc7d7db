# SPDX-License-Identifier: MIT
"""Write csv_from_python.csv with python3's csv module, and csv_from_python.txt, what is in it.

The .txt has one line a field: record number, field number, the field's UTF-8 bytes in hexadecimal.
Half the records are written with CRLF, half with LF; some quote all, some only what needs it.
"""
import csv
import io
import random

draw = random.Random(4180)
pieces = ["", "a", "12AX7", "6Н2П", ",", ";", '"', '""', "\n", "\r\n", " ", "\t", "µ", "Ω", "😀", "5,20", "'"]
base = __file__.replace(".py", "")
raw = io.StringIO(newline="")
with open(base + ".txt", "w", newline="\n") as listing:
    for number in range(1, 121):
        fields = ["".join(draw.choices(pieces, k=draw.randint(0, 6))) for _ in range(draw.randint(1, 9))]
        csv.writer(
            raw,
            lineterminator=draw.choice(["\r\n", "\n"]),
            quoting=draw.choice([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
        ).writerow(fields)
        for place, field in enumerate(fields):
            print(number, place, field.encode().hex() or "-", file=listing)
with open(base + ".csv", "wb") as out:
    out.write(raw.getvalue().encode())
