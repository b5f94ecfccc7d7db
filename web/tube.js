// SPDX-License-Identifier: MIT
// tube: everything known of one tube, on one page.
import { html, nothing } from "lit-html";
import { get, getOr, newKey, post } from "./api.js";
import { sectionName, typeOf } from "./catalogue.js";
import { hazardsView } from "./caution.js";
import { focusOn, redraw } from "./draw.js";
import { gradeReasons, gradeSign } from "./grade.js";
import { when } from "./number.js";
import { failedView } from "./page.js";
import { partnersOf, partnersView } from "./partner.js";
import { session } from "./session.js";
import { printStockNumber } from "./stockno.js";
import { quantities } from "./vocabulary.js";

const MOVES = {
    received: ["shelved", "scrapped"], inspected: ["shelved", "scrapped"],
    tested: ["shelved", "check-tube", "scrapped"], shelved: ["check-tube", "scrapped"],
    returned: ["scrapped"], scrapped: ["received"], "check-tube": ["tested", "scrapped"], shipped: ["returned"],
};

let it = null, trouble = null, names = new Map();

async function load(stockNo) {
    it = null;
    trouble = null;
    redraw();
    const at = (what) => `/api/tubes/${encodeURIComponent(stockNo)}${what}`;
    try {
        const tube = await get(at(""));
        const [type, looks, values, gradings, story] = await Promise.all([
            typeOf(tube.type), get(at("/inspections")), get(at("/readings")),
            getOr({ items: [] }, at("/gradings")), get(at("/journal"))]);
        names = await quantities();
        const partners = values.standing.length ? await partnersOf(tube.stock_no) : null;
        it = { tube, type, looks: looks.items, ...values, grading: gradings.items[0], partners, story: story.items };
    } catch (e) {
        trouble = e;
    }
    focusOn("#tube-head");
}

async function move(state) {
    try {
        await post(`/api/tubes/${it.tube.stock_no}/moves`, { state }, newKey());
        await load(String(it.tube.stock_no));
    } catch (e) {
        trouble = e;
        redraw();
    }
}

const fact = (name, value) => value
    ? html`<div><dt>${name}</dt><dd>${value}</dd></div>` : nothing;

const HISTORY = { unused: "claimed unused", used: "used", unknown: "not known" };

const factsView = (t, type) => html`<dl class="facts">
    ${fact("Printed", t.printed)}${fact("Type", t.type)}${fact("Family", t.family)}
    ${fact("Kind", type?.class)}${fact("Maker", t.maker || "not known")}${fact("Construction", t.construction)}
    ${fact("Date code", t.date)}${fact("Lot", t.lot)}${fact("Bin", t.bin)}${fact("State", t.state)}
    ${fact("History", t.history && `${HISTORY[t.history] || t.history}${t.history_word ? `, on the word of ${t.history_word}` : ""}`)}
    ${fact("Outside mark", t.mark)}${fact("In set", t.set && html`<a href=${`#/sets/${t.set}`}>${t.set}</a>`)}
    ${fact("Held until", t.held_until && when(t.held_until))}${fact("Note", t.note)}</dl>`;

function uncertainty(v) {
    const own = v.u_milli ? v.u_milli / 1000 : null;
    return own === null ? "not known" : `${own} of a last place`;
}

const standingView = () => html`<section><h2>What it measures now</h2>
    ${it.standing.length ? html`<table><caption class="unseen">Standing values</caption>
        <thead><tr><th scope="col">Section</th><th scope="col">Quantity</th><th scope="col">Value</th>
            <th scope="col">Uncertainty</th><th scope="col">Readings</th></tr></thead>
        <tbody>${it.standing.map((v) => html`<tr>
            <td>${v.section ? sectionName(it.type, v.section) : "whole tube"}</td>
            <td>${names.get(v.quantity)?.name || v.quantity}</td>
            <td class="figure">${stepOr(v.quantity, v.value)} ${v.unit}${v.questioned ? html` <span class="tag">kept against a question</span>` : nothing}</td>
            <td class="quiet">${uncertainty(v)}</td><td class="figure">${v.repeats}</td></tr>`)}</tbody></table>`
    : html`<p class="quiet">Nothing has been read of it yet.</p>`}</section>`;

// A place in an ordered list is kept as its number and read as its word.
const stepOr = (quantity, value) => names.get(quantity)?.steps?.split("|")[Number(value)] || value;

const readingsView = () => it.readings.length ? html`<section><h2>Every reading</h2>
    <ol class="history">${it.readings.map((r) => html`<li class=${r.voided ? "void" : ""}>
        <b>${when(r.taken)}</b> on ${r.tester}, ${r.section ? sectionName(it.type, r.section) : "whole tube"}:
        ${r.values.map((v) => html`<span class="figure">${names.get(v.quantity)?.name || v.quantity} ${stepOr(v.quantity, v.typed)} ${v.unit || ""}; </span>`)}
        ${r.by ? html`<span class="quiet">by ${r.by}</span>` : nothing}
        ${r.questions ? html`<span class="tag">confirmed against: ${r.questions}</span>` : nothing}
        ${r.voided ? html`<span class="tag">void: ${r.void_reason}</span>` : nothing}</li>`)}</ol></section>` : nothing;

const looksView = () => html`<section><h2>What the eye saw</h2>
    ${it.looks.length ? html`<ol class="history">${it.looks.map((l) => html`<li><b>${when(l.at)}</b>
        ${l.findings.map((f) => html`<span><i>${f.aspect_words || f.aspect}</i> ${f.words || f.finding}; </span>`)}
        ${l.by ? html`<span class="quiet">by ${l.by}</span>` : nothing}</li>`)}</ol>`
    : html`<p class="quiet">It has not been looked at.</p>`}</section>`;

const storyView = () => html`<details><summary>Journal, ${it.story.length} entries</summary>
    <ol class="history">${it.story.map((s) => html`<li><b>${when(s.at)}</b> ${s.act}
        ${s.by ? html`<span class="quiet">by ${s.by}</span>` : nothing}</li>`)}</ol></details>`;

function tubeView() {
    const t = it.tube;
    return html`<header class="tube-head"><h1 id="tube-head" tabindex="-1"><span class="printed">${t.printed}</span>
            <span class="no">${printStockNumber(t.stock_no)}</span></h1>
            <p class="big">${gradeSign(t.grade)} ${t.grade || "no grade yet"}
            ${t.unconfirmed ? html`<span class="tag">its readings wait for an answer</span>` : nothing}</p></header>
        ${hazardsView(it.type)}${failedView(trouble)}
        ${factsView(t, it.type)}
        <p class="moves">${session.mayTest() ? html`<a class="button" href=${`#/bench/${t.stock_no}`}>Read it at the bench</a>` : nothing}
            ${session.mayStock() ? (MOVES[t.state] || []).map((s) => html`<button type="button" class="second" @click=${() => move(s)}>Mark as ${s}</button>`) : nothing}</p>
        <div class="two">${standingView()}<section><h2>Grade</h2>
            ${it.grading ? html`<p class="quiet">by scheme ${it.grading.scheme}, ${when(it.grading.at)}</p>${gradeReasons(it.grading, { all: true })}`
                : html`<p class="quiet">Not graded yet.</p>`}</section></div>
        ${partnersView(it.partners, { all: true })}${looksView()}${readingsView()}${storyView()}`;
}

export const page = {
    title: "Tube",
    enter: ({ rest }) => load(rest),
    view: () => html`<div class="tube-page">${it ? tubeView()
        : trouble ? html`<h1 id="tube-head" tabindex="-1">No such tube</h1>${failedView(trouble)}`
            : html`<h1 id="tube-head" tabindex="-1" class="quiet">Looking…</h1>`}</div>`,
};
