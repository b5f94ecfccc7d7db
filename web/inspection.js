// SPDX-License-Identifier: MIT
// inspection: what the eye sees, aspect by aspect, one key each.  The aspect in hand shows its
// choices with their keys; what was passed over is "not looked at" and is not sent.
import { html, nothing } from "lit-html";
import { choiceOf, keyOf } from "./keys.js";

// A look to be filled in.  left: codes from a draft, {aspect: [finding]}.
export function lookNew(aspects, left = {}) {
    return {
        at: 0,
        rows: aspects.map((a) => ({ ...a, chosen: new Set(left[a.aspect] || []) })),
    };
}

export const lookDraft = (look) =>
    Object.fromEntries(look.rows.filter((r) => r.chosen.size).map((r) => [r.aspect, [...r.chosen]]));

export const lookFindings = (look) =>
    look.rows.flatMap((r) => [...r.chosen].map((finding) => ({ aspect: r.aspect, finding })));

export const lookHas = (look, aspect, finding) =>
    look.rows.some((r) => r.aspect === aspect && r.chosen.has(finding));

// The first finding of an aspect, for the drawing; "" for none.
export const lookFirst = (look, aspect) =>
    [...(look.rows.find((r) => r.aspect === aspect)?.chosen || [])][0] || "";

export const wordsOf = (row) =>
    row.findings.filter((f) => row.chosen.has(f.code)).map((f) => f.words).join(", ");

function choose(row, code, several) {
    if (row.chosen.has(code)) row.chosen.delete(code);
    else {
        if (!several) row.chosen.clear();
        row.chosen.add(code);
    }
}

function step(look, by) {
    look.at = Math.max(0, Math.min(look.rows.length, look.at + by));
    return look.at === look.rows.length ? "done" : "changed";
}

// What a key did: "changed", "done" (leave the look), or "" when it means nothing here.
export function lookKey(look, event) {
    const row = look.rows[look.at];
    if (event.target.closest("button") && (event.key === "Enter" || event.key === " ")) return "";
    if (event.key === "Enter") return "done";
    if (event.key === " " || event.key === "ArrowDown") return step(look, 1);
    if (event.key === "Backspace" || event.key === "ArrowUp") return step(look, -1);
    const i = row ? choiceOf(event, row.findings.length) : -1;
    if (i < 0) return "";
    choose(row, row.findings[i].code, event.shiftKey);
    return event.shiftKey ? "changed" : step(look, 1);
}

function choiceView(look, row, f, i, changed) {
    const pressed = row.chosen.has(f.code);
    const click = (e) => {
        look.at = look.rows.indexOf(row);
        choose(row, f.code, e.shiftKey);
        changed();
    };
    return html`<button type="button" class="choice" tabindex="-1" aria-pressed=${pressed}
        @click=${click}><kbd>${keyOf(i)}</kbd> ${f.words}${pressed ? html` <b class="yes">✓</b>` : nothing}
    </button>`;
}

export function lookView(look, active, changed) {
    return html`<ol class="look">${look.rows.map((row, i) => {
        const here = active && i === look.at;
        const words = wordsOf(row);
        return html`<li class=${here ? "here" : ""} aria-current=${here ? "step" : nothing}>
            <span class="aspect">${row.words}</span>
            ${here ? html`<span class="choices" role="group" aria-label=${row.words}>
                ${row.findings.map((f, j) => choiceView(look, row, f, j, changed))}</span>`
            : html`<span class=${words ? "seen" : "seen quiet"}>${words || "not looked at"}</span>`}
        </li>`;
    })}</ol>`;
}
