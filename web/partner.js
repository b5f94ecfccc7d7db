// SPDX-License-Identifier: MIT
// partner: which tubes in stock go with this one, on a rail: this tube at the left, each partner as
// far along as the widest of its differences fills the band, the band's edge as a stroke.
import { html, svg, nothing } from "lit-html";
import { Refusal, get } from "./api.js";
import { gradeSign } from "./grade.js";
import { printStockNumber } from "./stockno.js";

const AS_FAR = 1500; // permille of the band at the end of the rail
const LEFT = 12, LONG = 300;

const along = (permille) => LEFT + LONG * Math.min(1, permille / AS_FAR);

function rail(partners) {
    return html`<svg class="rail" viewBox="0 0 326 46" aria-hidden="true">
        <rect class="inside" x=${LEFT} y="12" width=${along(1000) - LEFT} height="16"/>
        <line class="beyond" x1=${along(1000)} x2=${along(AS_FAR)} y1="20" y2="20"/>
        <line class="edge" x1=${along(1000)} x2=${along(1000)} y1="6" y2="34"/>
        <text class="scale" x=${along(1000)} y="44">edge of the band</text>
        ${partners.map((p) => svg`<circle class=${p.holds ? "in" : "out"} cy="20" r="5"
            cx=${along(p.of_band_permille)}/>`)}
        <path class="self" d=${`M${LEFT} 10 v20`}/>
    </svg>`;
}

// The partners of a tube that has been read; null when it has no values to be compared by.
export async function partnersOf(stockNo) {
    try {
        return await get(`/api/tubes/${encodeURIComponent(stockNo)}/partners?band=10%25&same=printed,maker`);
    } catch (e) {
        if (e instanceof Refusal) return null;
        throw e;
    }
}

// "ia.6" -> "ia pin 6"; the quantity's own code is the trade's own symbol.
export const coordinateWords = (c) => c.replace(/\.(\d+)$/, " pin $1");

// {"ia.6": "2.31%"} -> ia pin 6 2.31 %, ...
export const spreadView = (spread) => html`<span class="spread">${Object.entries(spread || {})
    .map(([c, text]) => html`<span><i>${coordinateWords(c)}</i> ${String(text).replace("%", "\u202f%")}</span> `)}</span>`;

// The widest of the relative differences, where there is one: enough to choose by.
function widestView(spread) {
    const shares = Object.entries(spread).filter(([, text]) => String(text).endsWith("%"));
    if (!shares.length) return spreadView(spread);
    const [c, text] = shares.reduce((a, b) => (parseFloat(b[1]) > parseFloat(a[1]) ? b : a));
    return html`<span class="figure"><b>${text.replace("%", "\u202f%")}</b> <i>${coordinateWords(c)}</i></span>`;
}

function mateView(p, all) {
    return html`<li class=${p.holds ? "holds" : "far"}>
        <a class="no" href=${`#/tube/${p.stock_no}`}>${printStockNumber(p.stock_no)}</a>
        <span class="where">${p.bin ? html`bin <b>${p.bin}</b>` : html`<span class="quiet">no bin</span>`}</span>
        <span class="graded-as">${gradeSign(p.grade)} ${p.grade || "no grade"}</span>
        ${all ? spreadView(p.spread) : widestView(p.spread)}
        ${p.holds ? nothing : html`<span class="outside">outside the band</span>`}
    </li>`;
}

// all: every difference of each, not the widest alone.
export function partnersView(answer, { all = false } = {}) {
    if (!answer) return nothing;
    const partners = (answer.items || []).slice(0, 8);
    const inside = answer.items.filter((p) => p.holds).length;
    const first = partners[0];
    return html`<section class="partners" aria-labelledby="partners-head">
        <h3 id="partners-head">Goes with</h3>
        ${partners.length ? html`
            <p>${inside ? html`<b>${inside === 12 ? "12 or more" : inside}</b> within ${answer.band}` : html`<b>None</b> within ${answer.band}`},
                of the same make and print
                <span class="quiet">(${first.printed}${first.maker ? `, ${first.maker}` : ""})</span></p>
            ${rail(partners)}
            ${all ? nothing : html`<p class="quiet small">Each with the widest of its differences.</p>`}
            <ol class="mates">${partners.map((p) => mateView(p, all))}</ol>`
        : html`<p class="quiet">No other tube of this make and print has been read at this test point.</p>`}
    </section>`;
}
