// SPDX-License-Identifier: MIT
// grade: a grade as a sign and as words.  The sign is an envelope filled as far as the grade goes;
// it never stands without the word.
import { html, svg, nothing } from "lit-html";

const FILLS = { prime: 4, good: 3, fair: 2, weak: 1, reject: 0 };

export function gradeSign(grade) {
    const fill = FILLS[grade];
    const h = fill === undefined ? 0 : fill * 4;
    return html`<svg class="grade-sign" viewBox="0 0 16 24" aria-hidden="true">
        ${h ? svg`<rect class="fill" x="4" y=${20 - h} width="8" height=${h}/>` : nothing}
        <path class=${grade ? "line" : "line none"} d="M3 21 V8 Q3 3 7 2.5 L8 1 L9 2.5 Q13 3 13 8 V21 Z"/>
        ${grade === "reject" ? svg`<path class="line" d="M5 8 L11 18 M11 8 L5 18"/>` : nothing}
        <path class="line" d="M6 21 v2.5 M10 21 v2.5"/>
    </svg>`;
}

export const gradeWord = (grade) =>
    html`<span class="grade">${gradeSign(grade)} ${grade || "no grade yet"}</span>`;

const listView = (reasons) => html`<ul class="reasons">${reasons.map((r) => html`
    <li>${r.text}${r.borderline ? html` <strong class="tag">borderline</strong>` : nothing}</li>`)}</ul>`;

const join = (words) => words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} or ${words.at(-1)}`;

// One sentence often keeps a tube from several grades: those it keeps it from, best first, and what
// they share said once.
function keptFrom(reasons) {
    const byText = new Map(), groups = new Map();
    for (const r of reasons) {
        if (!byText.has(r.text)) byText.set(r.text, { ...r, grades: [] });
        byText.get(r.text).grades.unshift(r.grade);
    }
    for (const r of byText.values()) {
        const key = r.grades.join();
        if (!groups.has(key)) groups.set(key, { grades: r.grades, reasons: [] });
        groups.get(key).reasons.push(r);
    }
    return [...groups.values()];
}

// What kept the tube from each better grade, in the scheme's own sentences; what holds for the grade
// it has stands behind it, folded away unless `all` is asked for.
export function gradeReasons(grading, { all = false } = {}) {
    const { reasons = [], untested = [] } = grading?.reasons || {};
    const own = reasons.filter((r) => r.grade === grading.grade);
    return html`
        ${keptFrom(reasons.filter((r) => r.grade !== grading.grade)).map((g) => html`
            <p class="because">Not ${join(g.grades)}, because</p>${listView(g.reasons)}`)}
        ${own.some((r) => r.borderline) && !all ? listView(own.filter((r) => r.borderline)) : nothing}
        ${untested.length ? html`<p class="because">Not tested</p><ul class="reasons untested">${untested.map((t) => html`<li>${t}</li>`)}</ul>` : nothing}
        ${own.length ? html`<details ?open=${all}><summary>What ${grading.grade} asks for, ${own.length} points</summary>${listView(own)}</details>` : nothing}`;
}
