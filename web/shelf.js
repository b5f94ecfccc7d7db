// SPDX-License-Identifier: MIT
// shelf: the stock, filtered, page by page as one goes down.
import { html, nothing } from "lit-html";
import { live } from "lit-html/directives/live.js";
import { query } from "./api.js";
import { focusOn, redraw } from "./draw.js";
import { gradeSign } from "./grade.js";
import { counted } from "./number.js";
import { Pages, failedView, rowKeys } from "./page.js";
import { printStockNumber } from "./stockno.js";
import { bins, lots, makers } from "./vocabulary.js";

const STATES = ["received", "inspected", "tested", "shelved", "shipped", "returned", "scrapped", "check-tube"];
const GRADES = ["prime", "good", "fair", "weak", "reject"];

const asked = { family: "", grade: "", state: "", maker: "", lot: "", bin: "", free: "" };
const list = new Pages();
let known = { maker: [], lot: [], bin: [] };
let timer = 0;

function load() {
    return list.start(query("/api/tubes", { ...asked, limit: 60 }));
}

function change(name, value, wait) {
    asked[name] = value;
    clearTimeout(timer);
    if (wait) timer = setTimeout(load, 200);
    else load();
}

const textFilter = (name, label, values = []) => html`<label>${label}
    <input id=${`shelf-${name}`} type="text" autocomplete="off" spellcheck="false" .value=${live(asked[name])}
        list=${values.length ? `shelf-known-${name}` : nothing}
        @input=${(e) => change(name, e.target.value.trim(), true)}>
    ${values.length ? html`<datalist id=${`shelf-known-${name}`}>${values.map((v) => html`<option value=${v}></option>`)}</datalist>` : nothing}
</label>`;

const choiceFilter = (name, label, values) => html`<label>${label}
    <select @change=${(e) => change(name, e.target.value)}><option value="">any</option>
    ${values.map((v) => html`<option value=${v} ?selected=${asked[name] === v}>${v}</option>`)}</select></label>`;

function rowView(t) {
    const bound = t.set ? `in set ${t.set}` : t.held_until ? "held" : "";
    return html`<tr>
        <td><a data-row class="no" href=${`#/tube/${t.stock_no}`}>${printStockNumber(t.stock_no)}</a></td>
        <td class="printed">${t.printed}</td>
        <td data-label="family">${t.family || t.type}</td>
        <td data-label="maker">${t.maker || html`<span class="quiet">not known</span>`}</td>
        <td class="grade-cell">${gradeSign(t.grade)} ${t.grade || html`<span class="quiet">none yet</span>`}
            ${t.unconfirmed ? html`<span class="tag">asks</span>` : nothing}</td>
        <td data-label="bin">${t.bin || html`<span class="quiet">none</span>`}</td>
        <td data-label="lot">${t.lot || html`<span class="quiet">none</span>`}</td>
        <td data-label="state">${t.state}${bound ? html` <span class="tag">${bound}</span>` : nothing}</td>
    </tr>`;
}

function endView() {
    if (list.busy) return html`<p class="quiet" role="status">Looking…</p>`;
    if (list.trouble) return nothing;
    if (!list.rows.length)
        return html`<p class="quiet" role="status">Nothing on the shelf answers to that. Empty a filter, or scan tubes in at the <a href="#/bench">bench</a>.</p>`;
    return list.next
        ? html`<p><button type="button" data-row id="more" @click=${() => list.more()}>Show more</button>
            <span class="quiet">${counted(list.rows.length, "tube")} so far</span></p>`
        : html`<p class="quiet" role="status">${counted(list.rows.length, "tube")}, and that is all.</p>`;
}

// The next page comes before its last row does.
const watcher = new IntersectionObserver((seen) => {
    if (seen.some((s) => s.isIntersecting)) list.more();
}, { rootMargin: "600px" });

export const page = {
    title: "Shelf",
    async enter({ fields }) {
        for (const name of Object.keys(asked)) if (fields.has(name)) asked[name] = fields.get(name);
        focusOn("#shelf-family", { select: true });
        await load();
        const [m, l, b] = await Promise.all([makers(), lots(), bins()]);
        known = { maker: m.map((x) => x.name), lot: l.map((x) => x.code), bin: b.map((x) => x.code) };
        redraw();
    },
    drawn() {
        watcher.disconnect();
        const more = document.querySelector("#more");
        if (more) watcher.observe(more);
    },
    view: () => html`<div class="shelf" @keydown=${rowKeys}>
        <h1>Shelf</h1>
        <form class="filters" @submit=${(e) => { e.preventDefault(); load(); }}>
            ${textFilter("family", "Family or designation")}
            ${choiceFilter("grade", "Grade", GRADES)}
            ${choiceFilter("state", "State", STATES)}
            ${textFilter("maker", "Maker", known.maker)}
            ${textFilter("lot", "Lot", known.lot)}
            ${textFilter("bin", "Bin", known.bin)}
            <label class="tick"><input type="checkbox" .checked=${asked.free === "true"}
                @change=${(e) => change("free", e.target.checked ? "true" : "")}> free to sell</label>
        </form>
        ${failedView(list.trouble)}
        ${list.rows.length ? html`<table class="tubes"><caption class="unseen">Tubes by stock number</caption>
            <thead><tr><th scope="col">Stock number</th><th scope="col">Printed</th><th scope="col">Family</th>
                <th scope="col">Maker</th><th scope="col">Grade</th><th scope="col">Bin</th>
                <th scope="col">Lot</th><th scope="col">State</th></tr></thead>
            <tbody>${list.rows.map(rowView)}</tbody></table>` : nothing}
        ${endView()}
        <p class="keys"><span><kbd>↓</kbd> <kbd>↑</kbd> along the shelf</span><span><kbd>Enter</kbd> open a tube</span></p>
    </div>`,
};
