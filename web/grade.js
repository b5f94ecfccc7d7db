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

// What kept the tube from each better grade, in the scheme's own sentences.
export function gradeReasons(grading) {
    const told = grading?.reasons || {};
    const reasons = told.reasons || [], untested = told.untested || [];
    const grades = [...new Set(reasons.map((r) => r.grade))];
    return html`
        ${grades.map((g) => html`
            <h4>${g === grading.grade ? `For ${g}` : `Not ${g}, because`}</h4>
            <ul class="reasons">${reasons.filter((r) => r.grade === g).map((r) => html`
                <li>${r.text}${r.borderline
                    ? html` <strong class="tag">borderline</strong>` : nothing}</li>`)}
            </ul>`)}
        ${untested.length ? html`<h4>Not tested</h4>
            <p class="untested">${untested.join("; ")}</p>` : nothing}`;
}
