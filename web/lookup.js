// SPDX-License-Identifier: MIT
// lookup: what a designation is, what may stand in for it and under which conditions, what of it is
// on the shelf.  Whatever rests on memory carries its mark.
import { html, nothing } from "lit-html";
import { live } from "lit-html/directives/live.js";
import { get, query } from "./api.js";
import { equivalentsPath, typeOf } from "./catalogue.js";
import { hazardsView } from "./caution.js";
import { focusOn, redraw } from "./draw.js";
import { gradeSign } from "./grade.js";
import { counted } from "./number.js";
import { failedView, rowKeys } from "./page.js";

const WAIT_MS = 120; // after the last key
const SHOWN = 6;     // of a list of stand-ins, the best first
const opened = new Set();

let text = "", answer = null, begins = [], chosen = "", type = null, stands = null, trouble = null, timer = 0, asked = 0;

async function search() {
    const mine = ++asked;
    trouble = null;
    if (!text.trim()) {
        answer = type = stands = null;
        return redraw();
    }
    try {
        const [found, begun] = await Promise.all([get(query("/api/lookup", { text: text.trim() })),
            get(query("/api/typeahead", { text: text.trim(), limit: 12 }))]);
        if (mine !== asked) return;
        answer = found;
        begins = begun.items.filter((b) => !found.hits.some((h) => h.type === b.type));
        const first = ["is", "ambiguous"].includes(found.verdict) ? found.hits[0]?.type : "";
        await show(first, mine);
    } catch (e) {
        if (mine !== asked) return;
        trouble = e;
        answer = type = stands = null;
    }
    redraw();
}

async function show(designation, mine = ++asked) {
    chosen = designation || "";
    if (!chosen) {
        type = stands = null;
        return redraw();
    }
    opened.clear();
    const [t, s] = await Promise.all([typeOf(chosen), get(equivalentsPath(chosen))]);
    if (mine !== asked) return;
    type = t;
    stands = s;
    redraw();
}

function typed(value) {
    text = value;
    clearTimeout(timer);
    timer = setTimeout(search, WAIT_MS);
}

const typeHref = (designation) => `#/lookup?text=${encodeURIComponent(designation)}`;

// ---- what was found ----------------------------------------------------------------------------

const VERDICTS = {
    is: () => nothing,
    ambiguous: () => html`<p class="told">That can be read in more than one way. Choose what is meant.</p>`,
    candidates: () => html`<p class="told">Not known just so. Known are these, with another suffix: their ratings differ, so none of them is taken for it.</p>`,
    unknown: () => html`<p class="told">The catalogue does not know it.</p>`,
};

const memory = (known) => known === "memory"
    ? html` <span class="memory">from memory</span>` : nothing;

const LEVELS = { stop: "✕ stop", change: "△ change", unknown: "? not known", remark: "· remark" };

const differencesView = (differs) => html`<ul class="differs">${differs.map((d) => html`
    <li class=${d.level}><b>${LEVELS[d.level] || d.level}</b> ${d.text}${d.memory ? memory("memory") : nothing}</li>`)}</ul>`;

function hitView(h) {
    return html`<li class=${h.type === chosen ? "here" : ""}>
        <button type="button" class="hit" data-row aria-pressed=${h.type === chosen} @click=${() => show(h.type)}>
            <span class="printed">${h.type}</span> <span>${[h.class, h.heater].filter(Boolean).join(", ")}</span>
            <span class="quiet">${h.why}</span>
            ${h.hazards.length ? html`<b class="danger">⚠ ${h.hazards.join(", ")}</b>` : nothing}</button>
        ${h.differs?.length ? html`<details><summary>How it differs, ${counted(h.differs.length, "point")}</summary>${differencesView(h.differs)}</details>` : nothing}
    </li>`;
}

const decodedView = (d) => html`<li><b class="printed">${d.word}</b> read as ${d.system}:
    ${[d.heater, d.kind, d.base, d.quality, d.elements ? counted(d.elements, "element") : ""].filter(Boolean).join("; ") || "nothing more"}.
    ${d.remark ? html`<span class="quiet">${d.remark}</span>` : nothing}</li>`;

function foundView() {
    if (!answer) return nothing;
    const many = answer.verdict !== "is" || answer.hits.length > 1;
    return html`<section class="hits" aria-label="Found">
        ${answer.verdict === "unknown" && begins.length ? nothing : VERDICTS[answer.verdict]()}
        ${begins.length ? html`<h2>Begins so</h2><ul class="near">${begins.map((b) => html`<li>
            <a class="printed" data-row href=${typeHref(b.type)}>${b.spelling}</a>
            ${b.spelling !== b.type ? html`<span class="quiet">${b.type}</span>` : nothing}</li>`)}</ul>` : nothing}
        ${answer.verdict === "is" ? html`<p class="quiet">Found by ${answer.hits[0].why}.</p>` : nothing}
        ${many && answer.hits.length ? html`<ol>${answer.hits.map(hitView)}</ol>` : nothing}
        ${answer.decoded.length ? html`<h2>What the name itself says</h2>
            <p class="quiet">By the rules of its system, which all have exceptions.</p>
            <ul>${answer.decoded.map(decodedView)}</ul>` : nothing}
        ${answer.near.length ? html`<h2>Near spellings</h2><ul class="near">${answer.near.map((n) => html`
            <li><a class="printed" data-row href=${typeHref(n.type)}>${n.type}</a> <span class="quiet">${n.class || ""}</span></li>`)}</ul>` : nothing}
    </section>`;
}

// ---- the type ----------------------------------------------------------------------------------

const stockView = (s, designation) => !s ? html`<span class="quiet">not counted</span>`
    : s.free ? html`<a href=${`#/shelf?family=${encodeURIComponent(designation)}&free=true`}><b>${s.least ? `${s.free} or more` : s.free}</b> on the shelf</a>
        <span class="grades">${s.by_grade.map((g) => html`<span>${gradeSign(g.grade)} ${g.count} ${g.grade || "not graded"}</span> `)}</span>`
        : html`<span class="quiet">none on the shelf</span>`;

const RELATIONS = {
    same: "the same tube", improved: "an improved form of it", close: "close, figures differ",
    "base-differs": "other base or pins", "heater-differs": "another heater", "cap-differs": "another cap",
};

// Old to new, with what is to be done at each step.
const chainView = (r) => html`<ol class="chain"><li class="printed">${r.steps[0].from}</li>${r.steps.map((s) => html`
    <li><span class="arrow" aria-hidden="true">→</span><span class="unseen">replaced by</span>
        <b class="printed">${s.to}</b>
        <span>${RELATIONS[s.relation] || s.relation}${memory(s.known)}</span></li>`)}</ol>`;

function standInView(r) {
    return html`<li>
        <div class="stand"><a class="printed" data-row href=${typeHref(r.type)}>${r.type}</a>
        <span class=${`relation ${r.weakest}`}>${[...new Set(r.relations)].map((x) => RELATIONS[x] || x).join(", ")}</span>
        ${r.steps.length === 1 && r.remembered ? memory("memory") : nothing}
        <span>${stockView(r.stock, r.type)}</span>
        ${r.hazards.length ? html`<b class="danger">⚠ ${r.hazards.join(", ")}</b>` : nothing}</div>
        ${r.conditions.length ? html`<ul class=${`conditions ${r.weakest}`}>${r.conditions.map((c) => html`<li>${c}</li>`)}</ul>` : nothing}
        ${r.steps.length > 1 ? chainView(r) : nothing}
    </li>`;
}

// The best ones first; the rest of a long list when it is asked for.
function standInsView(title, rows, none) {
    const whole = rows.length <= SHOWN + 2 || opened.has(title);
    return html`<section><h3>${title}</h3>
        ${rows.length ? html`<ul class="stands">${(whole ? rows : rows.slice(0, SHOWN)).map((r) => standInView(r))}</ul>`
            : html`<p class="quiet">${none}</p>`}
        ${whole ? nothing : html`<p><button type="button" class="second" data-row @click=${() => { opened.add(title); redraw(); }}>
            Show the other ${rows.length - SHOWN}</button></p>`}</section>`;
}

const howKnown = (known) => known === "memory" ? html`<span class="memory">from memory</span>`
    : html`<span class="quiet">${known === "own" ? "entered here" : "read at the source"}</span>`;

const factsView = () => html`<section><h3>What is known of it</h3>
    <table><caption class="unseen">Facts, and how each is known</caption>
    <thead class="unseen"><tr><th scope="col">Fact</th><th scope="col">Value</th><th scope="col">How it is known</th></tr></thead>
    <tbody>${type.facts.filter((f) => f.field !== "pins").map((f) => html`
        <tr><th scope="row">${f.name}</th><td>${f.value} ${f.unit || ""}</td><td>${howKnown(f.known)}</td></tr>`)}
        ${type.pins.length ? html`<tr><th scope="row">pins</th><td>${type.pins.map((p) => html`<span class="pin"><b>${p.pin}</b> ${p.carries.join(", ")}</span> `)}</td>
            <td>${howKnown(type.facts.find((f) => f.field === "pins")?.known)}</td></tr>` : nothing}
    </tbody></table>
    ${type.memory ? html`<p class="quiet"><span class="memory">from memory</span> means: recalled of the source, not read there. Check a data sheet before acting on it.</p>` : nothing}
    ${type.source ? html`<p class="quiet">Source: ${type.source}</p>` : nothing}</section>`;

const pointView = (p) => html`<table><caption>${p.title} ${p.memory ? memory("memory") : nothing}</caption>
    <thead class="unseen"><tr><th scope="col">Quantity</th><th scope="col">Nominal</th><th scope="col">How it is known</th></tr></thead>
    <tbody>${p.figures.map((f) => html`<tr><th scope="row">${f.name}</th><td class="figure">${f.nominal} ${f.unit}${f.low || f.high
        ? html` <span class="quiet">limits ${f.low || "none"} to ${f.high || "none"}</span>` : nothing}</td>
        <td>${howKnown(f.memory ? "memory" : "found")}</td></tr>`)}</tbody></table>`;

const pointsView = () => html`<section><h3>Where it is measured</h3>${type.points.length ? type.points.map(pointView)
    : html`<p class="quiet">No published operating point: none is invented.</p>`}</section>`;

function typeView() {
    if (!type || !stands) return nothing;
    const spellings = type.aliases.map((a) => a.text).filter((t) => t !== type.designation);
    return html`<article class="type" aria-labelledby="type-head">
        <header><h2 id="type-head" class="printed">${type.designation}</h2>
            <p>${type.class || "kind not known"}${type.family && type.family !== type.designation ? html` · family ${type.family}` : nothing}
            ${spellings.length ? html` · also written ${spellings.join(", ")}` : nothing}</p>
            <p>${stockView(stands.stock, type.designation)}</p>${hazardsView(type)}</header>
        <div class="two">${standInsView("The same tube under another name", stands.same, "No other name is known.")}
        ${standInsView("May stand in for it", stands.instead, "Nothing is known that may stand in for it.")}</div>
        <div class="two">${factsView()}<div>${pointsView()}
        ${type.doubts.length ? html`<section><h3>Doubts about these figures</h3><ul>${type.doubts.map((d) => html`<li>${d.text} ${d.why || ""}</li>`)}</ul></section>` : nothing}
        ${stands.serves.length ? html`<section><h3>It may stand in for</h3><p>${stands.serves.map((r) => html`<a class="printed" href=${typeHref(r.type)}>${r.type}</a> <span class="quiet">${RELATIONS[r.weakest] || r.weakest}</span> `)}</p></section>` : nothing}
        </div></div></article>`;
}

export const page = {
    title: "Look-up",
    async enter({ fields }) {
        if (fields.has("text")) text = fields.get("text");
        focusOn("#lookup-text", { select: true });
        if (text) await search();
    },
    view: () => html`<div class="lookup" @keydown=${rowKeys}>
        <h1 class="unseen">Look-up</h1>
        <form class="scan" role="search" @submit=${(e) => { e.preventDefault(); clearTimeout(timer); search(); }}>
            <label for="lookup-text">Designation, in any spelling</label>
            <input id="lookup-text" type="text" autocomplete="off" autocapitalize="off" spellcheck="false"
                .value=${live(text)} @input=${(e) => typed(e.target.value)}>
            <p class="keys"><span>Cyrillic or Latin, with or without dashes</span><span><kbd>↓</kbd> to what was found</span></p>
        </form>
        ${failedView(trouble)}
        ${!answer && !trouble ? html`<p class="quiet">What else is it called, and what may stand in for it? Type what is printed on the glass.</p>` : nothing}
        ${foundView()}${typeView()}
    </div>`,
};
