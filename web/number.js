// SPDX-License-Identifier: MIT
// number: typed readings.  The daemon decides what a text means; here it is only split from its
// unit, and compared by eye with a nominal value.

// "5200 umho" -> {typed: "5200", unit: "umho"}; without a unit of its own, the field's.
export function splitReading(text, unit) {
    const m = /^([+\-\u2212]?[0-9.,\u00a0\u202f ]*[0-9][.,]?(?:[eE][+-]?[0-9]+)?)\s*([^0-9\s].*)?$/
        .exec(text.trim());
    if (!m) return { typed: text.trim(), unit };
    return { typed: m[1].trim(), unit: m[2] ? m[2].trim() : unit };
}

// A rough number for drawing; NaN when there is none.
export function roughly(text) {
    const t = String(text ?? "").trim().replace("\u2212", "-").replace(",", ".");
    return t === "" ? NaN : Number(t);
}

// "94 %" of a nominal value, "" where it says nothing.
export function share(typed, nominal) {
    const a = roughly(typed), b = roughly(nominal);
    return Number.isFinite(a) && b ? Math.round((a / b) * 100) : null;
}

export function when(iso) {
    const d = new Date(iso);
    return Number.isNaN(d.getTime()) ? "" : d.toLocaleString("en-GB", {
        day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit",
    });
}

export const clock = (d) => d.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });

// "1 tube", "3 tubes"
export const counted = (n, one, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;
