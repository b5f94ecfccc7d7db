// SPDX-License-Identifier: MIT
// draw: what every page is drawn with.  A page changes its own values and calls redraw; nothing
// else keeps state about what is on the screen.
let paint = () => {};

export function drawWith(f) {
    paint = f;
}

export function redraw() {
    paint();
}

// Draw, then put the focus where the hands go next.
export function focusOn(selector, { select = false } = {}) {
    redraw();
    const at = document.querySelector(selector);
    if (!at) return;
    at.focus();
    if (select && at.select) at.select();
}
