// SPDX-License-Identifier: MIT
// What the pages reckon by themselves: whether a text is a stock number, and what a typed reading is.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { splitReading, share } from "../../web/number.js";
import { checkDigit, isStockNumber } from "../../web/stockno.js";

const place = (path) => new URL(`../../${path}`, import.meta.url);

test("check digits are those of the reference table", () => {
    const rows = readFileSync(place("tests/reference/check_digits_mod_11_10.csv"), "utf8").split("\n")
        .filter((l) => /^[0-9]/.test(l)).map((l) => l.split(","));
    assert.ok(rows.length >= 3);
    for (const [payload, digit] of rows) assert.equal(String(checkDigit(payload)), digit, payload);
});

test("of ten last figures one makes a stock number", () => {
    for (const payload of ["100001", "7946200", "12345678901"])
        assert.deepEqual([...Array(10).keys()].filter((d) => isStockNumber(payload + d)), [checkDigit(payload)]);
});

test("what is too short, too long, signed, fractional or worded is no stock number", () => {
    for (const text of ["", "07945", "12", "1.2", "1,2", "-1000019", "5200 umho", "ECC83", "1".repeat(13)])
        assert.ok(!isStockNumber(text), text);
});

test("a stock number may be grouped as it is printed", () => {
    assert.ok(isStockNumber("1000 019") === isStockNumber("1000019"));
    assert.ok(isStockNumber("1000-019") === isStockNumber("1000019"));
});

test("a unit behind the figure is its unit, else the field's", () => {
    const cases = [
        ["5200 umho", "mA/V", "5200", "umho"], ["5200umho", "mA/V", "5200", "umho"], ["5,2", "mA/V", "5,2", "mA/V"],
        ["5.2", "mA/V", "5.2", "mA/V"], [" 1.21 ", "mA", "1.21", "mA"], ["-0,4", "uA", "-0,4", "uA"],
        ["1e3", "kohm", "1e3", "kohm"], ["0,5 \u00b5A", "uA", "0,5", "\u00b5A"], ["n/a", "mA", "n/a", "mA"],
    ];
    for (const [text, own, typed, unit] of cases) assert.deepEqual(splitReading(text, own), { typed, unit }, text);
});

test("a share of nominal is shown only where there is one", () => {
    assert.equal(share("1,58", "1.6"), 99);
    assert.equal(share("", "1.6"), null);
    assert.equal(share("5.2", ""), null);
    assert.equal(share("5.2", "0"), null);
});
