// SPDX-License-Identifier: MIT
// takeback: void what was saved last of the tube in hand.  The readings stay visible, with why.
import { html } from "lit-html";
import { newKey, post } from "./api.js";
import { redraw } from "./draw.js";
import { printStockNumber } from "./stockno.js";

const USUAL = "typed wrong";
let trouble = "";

async function takeBack(work, reason, left) {
    try {
        for (const r of work.saved.readings.filter((x) => !x.voided)) {
            await post(`/api/readings/${r.id}/void`, { reason }, newKey());
            r.voided = new Date().toISOString();
        }
    } catch (e) {
        trouble = e.message;
        return redraw();
    }
    trouble = "";
    work.saved = null;
    work.state = "open";
    work.grading = work.partners = null;
    left({ kind: "done", text: `The readings of ${printStockNumber(work.tube.stock_no)} are void; ↓ reads it again.` });
}

export const takeBackView = (work, { left }) => html`<section class="take-back">
    <h2>Take back the readings of ${printStockNumber(work.tube.stock_no)}</h2>
    <label for="take-back-reason">Why</label>
    <input id="take-back-reason" type="text" .value=${USUAL} autocomplete="off" maxlength="200"
        @keydown=${(e) => {
            if (e.key === "Enter") takeBack(work, e.target.value.trim() || USUAL, left);
            else if (e.key === "Escape") left();
        }}>
    ${trouble ? html`<p class="trouble" role="alert">${trouble}</p>` : ""}
    <p class="keys"><span><kbd>Enter</kbd> void them: they stay visible and no longer count</span>
        <span><kbd>Esc</kbd> leave them</span></p>
</section>`;
