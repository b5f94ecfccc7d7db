// SPDX-License-Identifier: MIT
// intake: a new tube.  The fields keep what the last one had, so that the next of the same box is
// two keys: + and Enter.  A maker, lot or bin that is not known is named, and Enter adds it.
import { html, nothing } from "lit-html";
import { live } from "lit-html/directives/live.js";
import { Refusal, getOr, newKey, post } from "./api.js";
import { focusOn, redraw } from "./draw.js";
import { bins, forget, lots, makers } from "./vocabulary.js";

const FIELDS = [
    ["printed", "Designation as printed", "60"],
    ["maker", "Maker", "100"],
    ["lot", "Lot", "40"],
    ["bin", "Bin", "40"],
    ["date", "Date code", "40"],
    ["mark", "Outside mark", "60"],
];
const ADDS = {
    maker: ["/api/makers", (v) => ({ name: v }), "makers"],
    lot: ["/api/lots", (v) => ({ code: v, title: v }), "lots"],
    bin: ["/api/bins", (v) => ({ code: v }), "bins"],
};

const form = {
    printed: "", maker: "", lot: "", bin: "", date: "", mark: "",
    trouble: null, missing: "", busy: false, key: newKey(), lines: [],
    lists: { maker: [], lot: [], bin: [] },
};

export async function intakeOpen() {
    form.trouble = null;
    form.missing = "";
    form.mark = "";
    focusOn("#new-printed", { select: true });
    try {
        const [m, l, b] = await Promise.all([makers(), lots(), bins()]);
        form.lists = { maker: m.map((x) => x.name), lot: l.map((x) => x.code), bin: b.map((x) => x.code) };
        await linesOf(form.lot);
    } catch {
        form.lists = { maker: [], lot: [], bin: [] }; // only what is offered is missing; typing goes on
    }
    redraw();
}

// Pieces of the lot that have no number yet: one of them may be drawn.
async function linesOf(code) {
    const known = form.lists.lot.includes(code);
    const lot = known ? await getOr(null, `/api/lots/${encodeURIComponent(code)}`) : null;
    form.lines = (lot?.lines || []).filter((l) => l.drawn < l.count);
}

async function addMissing() {
    const [path, body, list] = ADDS[form.missing];
    await post(path, body(form[form.missing].trim()), newKey());
    forget(list);
    form.missing = "";
}

function bodyOf(line) {
    const body = line ? { lot_line: line.id } : {};
    for (const [name] of FIELDS)
        if (form[name].trim() && !(line && (name === "printed" || name === "maker")))
            body[name] = form[name].trim();
    return body;
}

async function create(taken, line) {
    if (form.busy) return;
    form.busy = true;
    form.trouble = null;
    try {
        if (form.missing) await addMissing();
        const tube = await post("/api/tubes", bodyOf(line), form.key);
        form.key = newKey();
        form.busy = false;
        return taken(tube);
    } catch (e) {
        form.busy = false;
        const refused = e instanceof Refusal;
        if (refused) form.key = newKey(); // an unanswered one keeps its key: it may have been made
        form.missing = refused && e.status === 404 && ADDS[e.field] && form[e.field] ? e.field : "";
        form.trouble = {
            field: e.field || "printed",
            text: form.missing ? `${e.message} Enter once more adds ${form.missing} "${form[form.missing].trim()}".`
                : refused ? e.message : `${e.message} What you typed is kept: Enter tries again.`,
        };
        focusOn(`#new-${FIELDS.some(([n]) => n === form.trouble.field) ? form.trouble.field : "printed"}`);
    }
}

function fieldView([name, label, most]) {
    const bad = form.trouble?.field === name;
    return html`<div class="field"><label for=${`new-${name}`}>${label}</label>
        <input id=${`new-${name}`} type="text" maxlength=${most} autocomplete="off" spellcheck="false"
            list=${form.lists[name]?.length ? `known-${name}` : nothing} .value=${live(form[name])}
            aria-invalid=${bad ? "true" : nothing} aria-describedby=${bad ? "new-trouble" : nothing}
            @input=${(e) => { form[name] = e.target.value; if (form.missing === name) form.missing = ""; }}
            @change=${name === "lot" ? (e) => linesOf(e.target.value.trim()).then(redraw, redraw) : nothing}>
        ${form.lists[name]?.length ? html`<datalist id=${`known-${name}`}>
            ${form.lists[name].map((v) => html`<option value=${v}></option>`)}</datalist>` : nothing}
        ${bad ? html`<p id="new-trouble" class="trouble" role="alert">${form.trouble.text}</p>` : nothing}
    </div>`;
}

export function intakeView({ taken, left }) {
    const known = FIELDS.some(([n]) => n === form.trouble?.field);
    return html`<form class="intake" @submit=${(e) => { e.preventDefault(); create(taken, null); }}
            @keydown=${(e) => { if (e.key === "Escape") { e.preventDefault(); left(); } }}>
        <h2>A new tube</h2>
        ${FIELDS.map(fieldView)}
        ${form.trouble && !known ? html`<p class="trouble" role="alert">${form.trouble.text}</p>` : nothing}
        <p class="keys"><span><kbd>Enter</kbd> give it a number</span>
            <span><kbd>Tab</kbd> next field</span><span><kbd>Esc</kbd> leave</span></p>
        <p><button>Give it a number</button></p>
        ${form.lines.length ? html`<h3>Or draw one from lot ${form.lot}</h3>
            <ul class="lines">${form.lines.map((l) => html`<li><button type="button"
                @click=${() => create(taken, l)}><b>${l.printed}</b> ${l.maker || ""}
                <span class="quiet">${l.count - l.drawn} of ${l.count} left</span></button></li>`)}</ul>` : nothing}
    </form>`;
}
