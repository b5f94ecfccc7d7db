// SPDX-License-Identifier: MIT
// partner: which tubes in stock go with this one, on a rail: this tube at the left, each partner as
// far along as the widest of its differences fills the band, the band's edge as a stroke.
import { html, svg, nothing } from "lit-html";
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

// "ia.6" -> "ia pin 6"; the quantity's own code is the trade's own symbol.
export const coordinateWords = (c) => c.replace(/\.(\d+)$/, " pin $1");

// {"ia.6": "2.31%"} -> ia pin 6 2.31 %, ...
export const spreadView = (spread) => html`<span class="spread">${Object.entries(spread || {})
    .map(([c, text]) => html`<span><i>${coordinateWords(c)}</i> ${String(text).replace("%", "\u202f%")}</span> `)}</span>`;

function mateView(p) {
    return html`<li class=${p.holds ? "holds" : "far"}>
        <a class="no" href=${`#/tube/${p.stock_no}`}>${printStockNumber(p.stock_no)}</a>
        <span class="where">${p.bin ? html`bin <b>${p.bin}</b>` : html`<span class="quiet">no bin</span>`}</span>
        <span>${gradeSign(p.grade)} ${p.grade || "no grade"}</span>
        ${spreadView(p.spread)}
        ${p.holds ? nothing : html`<span class="outside">outside the band</span>`}
    </li>`;
}

export function partnersView(answer) {
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
            <ol class="mates">${partners.map(mateView)}</ol>`
        : html`<p class="quiet">No other tube of this make and print has been read at this test point.</p>`}
    </section>`;
}
