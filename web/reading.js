// SPDX-License-Identifier: MIT
// reading: the fields of one tube at one test point, in the order of the tests: shorts and leakage
// before heat and volts, then section by section, gas last.
import { html, nothing } from "lit-html";
import { live } from "lit-html/directives/live.js";
import { sectionName } from "./catalogue.js";
import { choiceOf, keyOf } from "./keys.js";
import { share, splitReading } from "./number.js";
import { isStockNumber } from "./stockno.js";

const BEFORE = ["continuity", "shorts", "leak", "leakage"];
const MIDDLE = ["strike", "regulating", "regulation", "drop", "emission", "anode", "ia", "ig2", "gm", "mu", "rp"];
const AFTER = ["gas"];
const BESIDE = ["hk", "ig", "noise", "noise-ear", "noise-db", "microphony", "microphony-ear", "heater"];
const ENDS = { shorts: "found", leakage: "found", continuity: "open" };

// ---- which fields there are --------------------------------------------------------------------

// Of what the tester reads: the tests, what the test point states (currents first, as they are set),
// and what belongs beside it.  Where the point states nothing that it reads: all of it.
function wanted(tester, point) {
    const stated = point.figures.map((f) => f.quantity);
    const reads = tester.reads.map((r) => r.quantity);
    const main = reads.filter((q) => stated.includes(q));
    main.sort((a, b) => MIDDLE.indexOf(a) - MIDDLE.indexOf(b));
    const tests = [...BEFORE, ...AFTER];
    const rest = reads.filter((q) => !main.includes(q) && !tests.includes(q) &&
        (!main.length || BESIDE.includes(q)));
    return {
        before: BEFORE.filter((q) => reads.includes(q)),
        middle: [...main, ...rest],
        after: AFTER.filter((q) => reads.includes(q)),
    };
}

function fieldOf(quantity, section, tester, point, draft) {
    const reads = tester.reads.find((r) => r.quantity === quantity.code);
    const figure = point.figures.find((f) => f.quantity === quantity.code);
    const key = `${section}.${quantity.code}`;
    return {
        key, section, quantity: quantity.code, name: quantity.name,
        unit: reads?.unit || quantity.unit, own: quantity.unit,
        comparable: (reads?.unit || quantity.unit) === (figure?.unit || quantity.unit),
        steps: quantity.ordinal ? quantity.steps.split("|") : null,
        nominal: figure?.nominal ?? "", low: figure?.low ?? "", high: figure?.high ?? "",
        memory: figure?.memory || false, nominalUnit: figure?.unit || quantity.unit,
        text: draft[key] || "", questions: [], trouble: "", typedFigures: "",
    };
}

export function fieldsNew({ type, point, tester, quantities, draft = {} }) {
    const w = wanted(tester, point);
    const put = (codes, section) => codes.filter((c) => quantities.has(c))
        .map((c) => fieldOf(quantities.get(c), section, tester, point, draft));
    const perSection = (c) => quantities.get(c)?.per_section;
    const fields = put(w.before, 0);
    for (let s = 1; s <= (type?.sections || 1); s++) fields.push(...put(w.middle.filter(perSection), s));
    fields.push(...put(w.middle.filter((c) => !perSection(c)), 0), ...put(w.after, 0));
    return fields;
}

// The test points a type can be read at with a tester, the one it is usually read at first.
export function pointsFor(type) {
    return [...(type?.points || [])].sort((a, b) => (b.held === "grid") - (a.held === "grid"));
}

// ---- what was typed ----------------------------------------------------------------------------

export const readingDraft = (fields) =>
    Object.fromEntries(fields.filter((f) => f.text).map((f) => [f.key, f.text]));

// A short, a leak or an open heater ends a test: the code of the test that ended it, or "".
export const endedBy = (fields) =>
    fields.find((f) => ENDS[f.quantity] && f.text === ENDS[f.quantity])?.quantity || "";

const afterEnd = (fields, f) => {
    const end = fields.findIndex((x) => ENDS[x.quantity] && x.text === ENDS[x.quantity]);
    return end >= 0 && fields.indexOf(f) > end && !f.text;
};

// The next field that is still to be filled in, or to be answered; null past the last.
export function nextField(fields, f, by = 1) {
    for (let i = fields.indexOf(f) + by; i >= 0 && i < fields.length; i += by)
        if (!afterEnd(fields, fields[i])) return fields[i];
    return null;
}

export const openQuestions = (fields) =>
    fields.flatMap((f) => f.questions.filter((q) => !q.confirmed).map((q) => ({ ...q, field: f })));

// A scan is no reading: a whole valid stock number in a field is refused, not kept.
export function refuseScan(f) {
    const text = f.steps ? f.typedFigures : f.text;
    f.typedFigures = "";
    if (!isStockNumber(text)) return false;
    f.trouble = `${text} is a stock number, not a reading; nothing was kept. ` +
        "Esc leaves this tube, then scan again.";
    if (!f.steps) f.text = "";
    return true;
}

export function sectionsToSend(fields) {
    const sections = new Map();
    for (const f of fields) {
        if (!f.text.trim()) continue;
        if (!sections.has(f.section)) sections.set(f.section, []);
        const { typed, unit } = f.steps ? { typed: String(f.steps.indexOf(f.text)) } : splitReading(f.text, f.unit);
        sections.get(f.section).push({ quantity: f.quantity, typed, ...(unit ? { unit } : {}) });
    }
    return [...sections].sort((a, b) => a[0] - b[0]).map(([section, values]) => ({ section, values }));
}

// Put questions to their fields; what belongs to no field is asked at the first one.
// What was answered with yes is not asked twice.
export function askAt(fields, questions) {
    const same = (a, b) => a.rule === b.rule && a.quantity === b.quantity && a.section === b.section;
    const answered = fields.flatMap((f) => f.questions.filter((q) => q.confirmed));
    for (const f of fields) f.questions = [];
    for (const q of questions) {
        const f = fields.find((x) => x.quantity === q.quantity && x.section === (q.section || 0)) ||
            fields.find((x) => x.quantity === q.quantity && x.text) ||
            fields.find((x) => x.text) || fields[0];
        f.questions.push({ ...q, confirmed: answered.some((a) => same(a, q)) });
    }
}

// Rules whose every question was answered with yes.
export function rulesConfirmed(fields) {
    const all = fields.flatMap((f) => f.questions);
    return [...new Set(all.map((q) => q.rule))]
        .filter((rule) => all.every((q) => q.rule !== rule || q.confirmed));
}

export function changeText(f, text) {
    f.text = text;
    f.trouble = "";
    f.questions = [];
}

// What a key did in a field: "next", "back", "changed", "save", or "".
export function fieldKey(f, event) {
    if (event.key === "Enter" && event.ctrlKey) return "save";
    if (event.key === "Enter" && event.shiftKey) return "back";
    if (event.key === "Enter") return "next";
    if (event.key === "ArrowDown") return "next";
    if (event.key === "ArrowUp") return "back";
    if (event.ctrlKey || event.altKey || event.metaKey) return "";
    if (f.questions.length && event.key.toLowerCase() === "y") {
        for (const q of f.questions) q.confirmed = true;
        return "changed";
    }
    const meant = f.questions.find((q) => q.suggest);
    if (meant && event.key.toLowerCase() === "m") {
        changeText(f, f.unit === f.own ? meant.suggest : `${meant.suggest} ${f.own}`);
        return "changed";
    }
    return f.steps ? stepKey(f, event) : "";
}

function stepKey(f, event) {
    if (/^[0-9]$/.test(event.key)) {
        f.typedFigures += event.key;
        return "changed";
    }
    if (event.key === "Backspace" || event.key === "Delete") {
        changeText(f, "");
        return "changed";
    }
    const i = choiceOf(event, f.steps.length);
    if (i < 0) return "";
    changeText(f, f.steps[i]);
    return "next";
}

// ---- how it looks ------------------------------------------------------------------------------

export const fieldId = (f) => `field-${f.key.replace(".", "-")}`;

const memoryMark = (f) => f.memory
    ? html` <span class="memory" title="recalled of the source, not read there">from memory</span>` : nothing;

// "78 % of 1.6 mA/V" once it is typed, before that what would be usual.
function nominalView(f) {
    const { typed, unit } = splitReading(f.text, f.unit);
    const percent = f.nominal !== "" && f.comparable && unit === f.unit ? share(typed, f.nominal) : null;
    const limits = f.low !== "" && f.high !== "" ? `${f.low} to ${f.high}`
        : f.low !== "" ? `from ${f.low}` : f.high !== "" ? `up to ${f.high}` : "";
    return html`${percent !== null ? html`<b class="share">${percent}\u202f%</b> of ` : f.nominal !== "" ? "nominal " : nothing}
        ${f.nominal !== "" ? html`<b>${f.nominal}</b> ${f.nominalUnit}` : nothing}
        ${limits ? html` limits ${limits} ${f.nominalUnit}` : nothing}
        ${f.nominal !== "" || limits ? memoryMark(f) : nothing}`;
}

function questionView(f) {
    if (!f.questions.length) return nothing;
    const open = f.questions.filter((q) => !q.confirmed), meant = open.find((q) => q.suggest);
    return html`<div class="question"><strong>${open.length ? "Is that right?" : "Kept as typed."}</strong>
        <ul>${f.questions.map((q) => html`<li>${q.sentence}</li>`)}</ul>
        ${open.length ? html`<p class="keys"><span><kbd>y</kbd> <kbd>Enter</kbd> yes, keep it</span>
            ${meant ? html`<span><kbd>m</kbd> make it ${meant.suggest} ${f.own}</span>` : nothing}
            <span>or type it again</span></p>` : nothing}</div>`;
}

function stepsView(f, on) {
    return html`<div class="steps" id=${fieldId(f)} role="radiogroup" tabindex="0"
            aria-labelledby=${`${fieldId(f)}-name`} aria-describedby=${`${fieldId(f)}-about`}
            @keydown=${(e) => on.key(f, e)} @focus=${() => on.focus(f)}>
        ${f.steps.map((word, i) => html`<span class="choice" role="radio" tabindex="-1"
            aria-checked=${f.text === word} @click=${() => on.step(f, word)}>
            <kbd aria-hidden="true">${keyOf(i)}</kbd> ${word}${f.text === word ? html` <b class="yes">✓</b>` : nothing}</span>`)}
    </div>`;
}

function inputView(f, on) {
    return html`<span class="typed"><input id=${fieldId(f)} type="text" inputmode="decimal"
            autocomplete="off" spellcheck="false" .value=${live(f.text)}
            aria-describedby=${`${fieldId(f)}-nominal ${fieldId(f)}-about`} aria-invalid=${f.trouble ? "true" : nothing}
            @input=${(e) => on.type(f, e.target.value)} @keydown=${(e) => on.key(f, e)}
            @focus=${() => on.focus(f)}>
        <span class="unit">${f.unit}</span></span>`;
}

function fieldView(f, fields, on) {
    const over = afterEnd(fields, f);
    const numeric = !f.steps;
    return html`<div class="field ${over ? "over" : ""} ${f.questions.some((q) => !q.confirmed) ? "asked" : ""}">
        ${numeric ? html`<label for=${fieldId(f)} id=${`${fieldId(f)}-name`}>${f.name}</label>`
            : html`<span class="label" id=${`${fieldId(f)}-name`}>${f.name}</span>`}
        ${over ? html`<span class="quiet">not read</span>`
            : numeric ? inputView(f, on) : stepsView(f, on)}
        ${numeric ? html`<span class="beside" id=${`${fieldId(f)}-nominal`}>${nominalView(f)}</span>` : nothing}
        <div class="about" id=${`${fieldId(f)}-about`}>${f.trouble ? html`<p class="trouble" role="alert">${f.trouble}</p>` : nothing}
            ${questionView(f)}</div>
    </div>`;
}

export function fieldsView(fields, type, on) {
    const groups = [];
    for (const f of fields) {
        const last = groups.at(-1);
        if (last && last.section === f.section) last.fields.push(f);
        else groups.push({ section: f.section, fields: [f] });
    }
    return groups.map((g) => html`<fieldset>
        <legend>${g.section ? sectionName(type, g.section) : "The whole tube"}</legend>
        ${g.fields.map((f) => fieldView(f, fields, on))}</fieldset>`);
}
