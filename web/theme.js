// SPDX-License-Identifier: MIT
// theme: dark, light, or as the system says.
const PLACE = "quadrille.theme";
const KINDS = ["system", "dark", "light"];

export const themeKind = () =>
    KINDS.includes(localStorage.getItem(PLACE)) ? localStorage.getItem(PLACE) : "system";

export function themeApply() {
    const kind = themeKind();
    if (kind === "system") delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = kind;
}

export function themeNext() {
    localStorage.setItem(PLACE, KINDS[(KINDS.indexOf(themeKind()) + 1) % KINDS.length]);
    themeApply();
}
