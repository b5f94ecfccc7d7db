// SPDX-License-Identifier: MIT
// sets: what a family's stock can be grouped into.  The family is a cloud of points; a set is the
// handful of them that sits together, drawn with the thread that ties it.
import { html, nothing } from "lit-html";
import { live } from "lit-html/directives/live.js";
import { ask, newKey, post } from "./api.js";
import { cloudView } from "./cloud.js";
import { focusOn, redraw } from "./draw.js";
import { gradeSign } from "./grade.js";
import { counted, when } from "./number.js";
import { Pages, failedView } from "./page.js";
import { spreadView } from "./partner.js";
import { session } from "./session.js";
import { printStockNumber } from "./stockno.js";

const NAMES = { 2: ["pair", "pairs"], 3: ["trio", "trios"], 4: ["quad", "quads"], 6: ["sextet", "sextets"], 8: ["octet", "octets"] };
const setName = (size, n = 1) => (NAMES[size] || [`set of ${size}`, `sets of ${size}`])[n === 1 ? 0 : 1];

const form = { family: "", size: "4", most: "", band: "5%", same: "printed,maker", seconds: "2" };
const SAMES = [
    ["printed,maker", "print and maker"], ["printed,maker,construction", "print, maker, construction"], ["maker", "maker"], ["printed", "print"], ["none", "nothing: any of the family"],
];
const made = new Pages();
let found = null, trouble = null, busy = false, hot = 0, accepted = "";

// A bare figure is meant as percent.
const bandOf = (text) => /^[0-9]+([.,][0-9]+)?$/.test(text.trim()) ? `${text.trim().replace(",", ".")}%` : text.trim();

async function propose(event) {
    event.preventDefault();
    if (busy) return;
    busy = true;
    trouble = null;
    accepted = "";
    redraw();
    try {
        found = await post("/api/matches", {
            family: form.family.trim(), demand: `${form.size}${form.most ? `:${form.most}` : ""}`,
            band: bandOf(form.band), same: form.same, seconds: Number(form.seconds),
        });
        hot = 0;
    } catch (e) {
        trouble = e;
        found = null;
    }
    busy = false;
    focusOn(found ? "#found" : `#sets-${trouble.field === "band" ? "band" : "family"}`);
}

async function settle(how) {
    try {
        const { data } = await ask("POST", `/api/proposals/${found.proposal}/${how}`, undefined,
            how === "accept" ? { key: newKey() } : {});
        accepted = how === "accept" ? `${counted(data.items.length, "set is", "sets are")} made: ${data.items.map((s) => s.id).join(", ")}.`
            : "The proposal is dropped; its tubes are free.";
        found = null;
        trouble = null;
        await made.start("/api/sets?limit=20");
    } catch (e) {
        trouble = e;
    }
    focusOn("#sets-family");
}

// ---- found, bound and proven, in plain words ----------------------------------------------------

function lineWords(l) {
    const f = `${l.found || "No"} ${setName(l.size, l.found || 1)}`;
    if (!l.bound) return `${f} holds in this band.`;
    if (l.found === l.bound) return `${f}. More than that there cannot be.`;
    return `${f}; more than ${l.bound} cannot be, ${counted(l.bound - l.found, "more is", "more are")} not ruled out.`;
}

function provenWords(m) {
    if (!m.sets.length) return m.count_proven ? "That is proven." : "None was found in that time, which does not rule one out.";
    if (m.count_proven && m.cost_proven) return "Proven: not one set more, and none could sit closer together.";
    if (m.count_proven) return "Proven: not one set more. Whether they could sit closer together is not proven.";
    return "Not proven: a longer search may find more, or closer ones.";
}

function setView(s, i) {
    return html`<li class=${i === hot ? "here" : ""}>
        <button type="button" class="plain" aria-pressed=${i === hot} @click=${() => { hot = i; redraw(); }}
            @focus=${() => { if (hot !== i) { hot = i; redraw(); } }}>
            <b>${setName(s.size)} ${s.set_no}</b></button>
        ${spreadView(s.spread)}
        <ul class="members">${s.members.map((m) => html`<li><a class="no" href=${`#/tube/${m.stock_no}`}>${printStockNumber(m.stock_no)}</a>
            ${gradeSign(m.grade)} <span class="quiet">${m.grade || "no grade"}${m.bin ? `, bin ${m.bin}` : ""}</span></li>`)}</ul>
    </li>`;
}

function setKeys(e) {
    const by = { ArrowDown: 1, ArrowUp: -1 }[e.key];
    if (!by || !found) return;
    e.preventDefault();
    hot = Math.max(0, Math.min(found.sets.length - 1, hot + by));
    redraw();
    document.querySelectorAll(".found-sets > li > button")[hot]?.focus();
}

function foundView() {
    const m = found;
    const taken = m.lines.reduce((n, l) => n + l.found * l.size, 0);
    return html`<section class="found" id="found" tabindex="-1" aria-labelledby="found-head">
        <h2 id="found-head">${m.lines.map((l) => html`<span>${lineWords(l)} </span>`)}</h2>
        <p>${provenWords(m)} <span class="quiet">(${m.why})</span></p>
        <p class="quiet">Family ${m.family}, read at ${m.test_point}. ${counted(m.pool, "tube")} in the pool,
            ${taken} of them placed${m.left_out ? html`; ${m.left_out} left out because a value is missing` : nothing}.</p>
        ${m.sets.length ? html`${session.mayStock() ? html`<p class="moves">
            <button type="button" id="accept" @click=${() => settle("accept")}>Accept: ${m.sets.length === 1 ? "make this set" : `make these ${m.sets.length} sets`}</button>
            <button type="button" class="plain" @click=${() => settle("drop")}>Drop the proposal</button></p>` : nothing}
            <div class="two">${cloudView(m.sets, hot)}
            <ol class="found-sets" @keydown=${setKeys}>${m.sets.map(setView)}</ol></div>`
        : html`<p>Try a wider band, a smaller size, or ask for less to be equal.</p>`}
    </section>`;
}

const madeView = () => html`<section><h2>Sets that are together now</h2>${failedView(made.trouble)}
    ${made.rows.length ? html`<table class="tubes"><caption class="unseen">Sets, newest first</caption>
        <thead><tr><th scope="col">Set</th><th scope="col">Size</th><th scope="col">Family</th><th scope="col">Band</th>
            <th scope="col">Spread</th><th scope="col">Tubes</th><th scope="col">Made</th></tr></thead>
        <tbody>${made.rows.map((s) => html`<tr><td class="no">${s.id}</td><td>${setName(s.size)}</td>
            <td class="printed">${s.family || ""}</td><td>${s.band}</td><td>${spreadView(s.spread)}</td>
            <td>${s.members.map((m) => html`<a class="no" href=${`#/tube/${m.stock_no}`}>${printStockNumber(m.stock_no)}</a> `)}</td>
            <td>${when(s.made)}</td></tr>`)}</tbody></table>
        ${made.next ? html`<p><button type="button" @click=${() => made.more()}>Show more</button></p>` : nothing}`
    : made.busy ? nothing : html`<p class="quiet">None yet. Propose some above, and accept what you like.</p>`}</section>`;

const field = (name, label, more = {}) => html`<label>${label}<input id=${`sets-${name}`} type="text"
    autocomplete="off" spellcheck="false" ?required=${more.required} inputmode=${more.mode || "text"}
    .value=${live(form[name])} aria-invalid=${trouble?.field === name ? "true" : nothing}
    @input=${(e) => { form[name] = e.target.value; }}></label>`;

const choice = (name, label, values) => html`<label>${label}<select
    @change=${(e) => { form[name] = e.target.value; }}>${values.map(([v, words]) =>
        html`<option value=${v} ?selected=${form[name] === v}>${words}</option>`)}</select></label>`;

export const page = {
    title: "Sets",
    async enter({ fields }) {
        if (fields.get("family")) form.family = fields.get("family");
        focusOn("#sets-family", { select: true });
        await made.start("/api/sets?limit=20");
    },
    view: () => html`<div class="sets">
        <h1>Sets</h1>
        <form class="filters" @submit=${propose}>
            ${field("family", "Family", { required: true })}
            ${choice("size", "How many belong together", [2, 3, 4, 6, 8].map((n) => [String(n), `${n}, a ${setName(n)}`]))}
            ${field("band", "Band", { required: true })}
            ${choice("same", "Equal within a set", SAMES)}
            ${field("most", "At most so many sets", { mode: "numeric" })}
            ${choice("seconds", "Search for", [["2", "2 seconds"], ["10", "10 seconds"], ["60", "a minute"]])}
            <button>Propose sets</button>
        </form>
        <p class="keys"><span><kbd>Enter</kbd> propose</span><span>band: <b>5%</b> of the lowest in every quantity, or by name,
            <b>ia=5%,gm=3%</b></span><span><kbd>↑</kbd> <kbd>↓</kbd> along the sets</span></p>
        ${busy ? html`<p role="status" class="told">Searching…</p>` : nothing}
        ${failedView(trouble)}
        ${accepted ? html`<p role="status" class="done">${accepted}</p>` : nothing}
        ${found ? foundView() : nothing}
        ${madeView()}
    </div>`,
};
