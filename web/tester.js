// SPDX-License-Identifier: MIT
// tester: which tester this bench reads with, and adding the first one.
import { html, nothing } from "lit-html";
import { newKey, post } from "./api.js";
import { focusOn, redraw } from "./draw.js";
import { session } from "./session.js";
import { forget, quantities, testers } from "./vocabulary.js";

const PLACE = "quadrille.tester";
const USUAL = ["shorts", "leakage", "ia", "gm", "gas"];

let all = [], known = new Map(), adding = null;

const chosen = () => all.find((t) => t.code === localStorage.getItem(PLACE)) || all[0] || null;

export async function testerChoice() {
    [all, known] = await Promise.all([testers(), quantities()]);
}

export async function testerChosen() {
    if (!all.length) await testerChoice();
    return chosen();
}

function open() {
    adding = { code: "", title: "", reads: new Set(USUAL.filter((q) => known.has(q))), trouble: "", key: newKey() };
    focusOn("#tester-code");
}

async function add(event, chose) {
    event.preventDefault();
    const reads = [...known.values()].filter((q) => adding.reads.has(q.code))
        .map((q) => ({ quantity: q.code, unit: q.unit }));
    try {
        const t = await post("/api/testers", {
            code: adding.code.trim(), title: adding.title.trim() || adding.code.trim(), reads,
        }, adding.key);
        localStorage.setItem(PLACE, t.code);
        forget("testers");
        await testerChoice();
        adding = null;
        chose();
    } catch (e) {
        adding.trouble = e.message;
        adding.key = newKey();
        redraw();
    }
}

const addView = (chose) => html`<form class="add-tester" @submit=${(e) => add(e, chose)}
        @keydown=${(e) => { if (e.key === "Escape") { adding = null; focusOn("#scan"); } }}>
    <h2>A tester</h2>
    <label>Short name <input id="tester-code" required maxlength="40" autocomplete="off"
        .value=${adding.code} @input=${(e) => { adding.code = e.target.value; }}></label>
    <label>What it is <input maxlength="200" autocomplete="off"
        .value=${adding.title} @input=${(e) => { adding.title = e.target.value; }}></label>
    <fieldset><legend>What it reads</legend>${[...known.values()].map((q) => html`<label class="tick">
        <input type="checkbox" .checked=${adding.reads.has(q.code)} @change=${(e) =>
            adding.reads[e.target.checked ? "add" : "delete"](q.code)}>
        ${q.name}${q.unit ? html` <span class="unit">${q.unit}</span>` : nothing}</label>`)}</fieldset>
    ${adding.trouble ? html`<p class="trouble" role="alert">${adding.trouble}</p>` : nothing}
    <p><button>Add it</button></p></form>`;

// Where there is none yet, and while one is added: in the middle of the bench.
// chose: told when the tester is another.
export function testerAsk(chose) {
    if (adding) return addView(chose);
    return all.length || !session.mayTest() ? nothing : html`<p class="told">No tester is known yet.
        <button type="button" @click=${open}>Add the tester on this bench</button></p>`;
}

export const testerView = (chose) => all.length ? html`<div class="with"><label for="tester">read with</label>
    ${session.mayTest() ? html`<button type="button" class="plain" @click=${open}>add a tester</button>` : nothing}
    <select id="tester" @change=${(e) => { localStorage.setItem(PLACE, e.target.value); chose(); }}>
    ${all.map((t) => html`<option value=${t.code} ?selected=${t === chosen()}>${t.title}${t.suspect_since ? " (in doubt)" : ""}</option>`)}
    </select></div>` : nothing;
