// SPDX-License-Identifier: MIT
// stockno: is a text a whole stock number?  ISO/IEC 7064 MOD 11,10, as lib/base/stockno.

// The check digit of figures: P starts at 10; with each figure a, S = (P + a) mod 10, 0 standing
// for 10, and P becomes 2 S mod 11.
export function checkDigit(figures) {
    let p = 10;
    for (const f of figures) p = (((p + Number(f)) % 10 || 10) * 2) % 11;
    return (11 - p) % 10;
}

// The figures alone of "1000 0014" or "1000-0014"; "" when anything else stands in it.
function figuresOf(text) {
    const t = text.trim();
    return /^[0-9]([ \u00a0-]?[0-9])*$/.test(t) ? t.replace(/[^0-9]/g, "") : "";
}

// 7 to 12 figures, the last of which checks the others.
export function isStockNumber(text) {
    const f = figuresOf(text);
    return f.length >= 7 && f.length <= 12 && f[0] !== "0" &&
        checkDigit(f.slice(0, -1)) === Number(f.at(-1));
}

// As it is read aloud and written on a box: in fours from the left.
export function printStockNumber(n) {
    return String(n).replace(/(\d{4})(?=\d)/g, "$1\u202f");
}
