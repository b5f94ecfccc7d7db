// SPDX-License-Identifier: MIT
// keys: choices on the home row.  Letters, not figures, so that a scanner, which types figures, can
// never choose anything.  A key is known by its letter; on a keyboard of another script by its
// place, which is the same.
const ROW = ["a", "s", "d", "f", "g", "h", "j", "k", "l"];

export const keyOf = (i) => ROW[i] || "";

// Which choice an event means, -1 for none.
export function choiceOf(event, count) {
    if (event.ctrlKey || event.altKey || event.metaKey) return -1;
    let i = ROW.indexOf(event.key.toLowerCase());
    if (i < 0 && /^\p{L}$/u.test(event.key) && !/^[a-z]$/i.test(event.key))
        i = ROW.indexOf(event.code.replace(/^Key/, "").toLowerCase());
    return i < count ? i : -1;
}

export const isFigure = (event) =>
    /^[0-9]$/.test(event.key) && !event.ctrlKey && !event.altKey && !event.metaKey;
