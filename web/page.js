// SPDX-License-Identifier: MIT
// page: what the pages share: words for failing, and a list that goes on.
import { html, nothing } from "lit-html";
import { ask } from "./api.js";
import { redraw } from "./draw.js";

export const failedView = (e) => e
    ? html`<p class="trouble" role="alert">${e.message}</p>` : nothing;

// Rows that come page by page.  start(path) begins anew; an answer that was overtaken is dropped.
export class Pages {
    rows = [];
    next = "";
    trouble = null;
    busy = false;
    #asked = 0;

    async start(path) {
        this.rows = [];
        await this.#load(path);
    }

    async more() {
        if (this.next && !this.busy) await this.#load(this.next);
    }

    async #load(path) {
        const asked = ++this.#asked;
        this.busy = true;
        this.trouble = null;
        redraw();
        try {
            const { data, next } = await ask("GET", path);
            if (asked !== this.#asked) return;
            this.rows = [...this.rows, ...data.items];
            this.next = next;
        } catch (e) {
            if (asked !== this.#asked) return;
            this.trouble = e;
        }
        this.busy = false;
        redraw();
    }
}

// Up and down move along the rows of a list whose rows are links or buttons.
export function rowKeys(event) {
    if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
    const rows = [...event.currentTarget.querySelectorAll("[data-row]")];
    const at = rows.indexOf(event.target.closest("[data-row]"));
    const to = rows[at + (event.key === "ArrowDown" ? 1 : -1)];
    if (!to && !(at === 0 && event.key === "ArrowUp")) return;
    event.preventDefault();
    (to || event.currentTarget.querySelector("input, select, button"))?.focus();
}
