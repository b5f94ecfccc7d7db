// SPDX-License-Identifier: MIT
// sitting: what hands do on the pages, by keyboard events alone.
import { OWNER } from "./daemon.mjs";

export class Hands {
    constructor(page, url) {
        this.page = page;
        this.url = url;
        this.keys = page.keyboard;
        page.setDefaultTimeout(8000);
    }

    async setUp(token) {
        await this.page.goto(this.url);
        await this.waitFocus("sign-token");
        await this.fill(token, OWNER.name, OWNER.password, OWNER.password);
        await this.keys.press("Enter");
    }

    async signIn(place = "") {
        await this.page.goto(this.url + place);
        await this.page.waitForSelector("#sign-name:focus");
        await this.fill(OWNER.name, OWNER.password);
        await this.keys.press("Enter");
    }

    // Text by text, Tab between them.
    async fill(...texts) {
        for (const [i, text] of texts.entries()) {
            if (i) await this.keys.press("Tab");
            await this.keys.type(text);
        }
    }

    focused = () => this.page.evaluate(() => document.activeElement?.id || document.activeElement?.tagName);
    waitFocus = (id) => this.page.waitForSelector(`#${id}:focus`);

    // At the scan field: a scanner types the figures and Enter.
    async scan(number) {
        await this.waitFocus("scan");
        await this.keys.type(number);
        await this.keys.press("Enter");
    }

    async newTube(printed, maker, lot) {
        await this.waitFocus("scan");
        await this.keys.press("+");
        await this.waitFocus("new-printed");
        await this.fill(printed, maker, lot);
        await this.keys.press("Enter");
        await this.waitFocus("look");
    }

    async look(letters = "aaaaaaaaaa") {
        await this.waitFocus("look");
        for (const letter of letters) await this.keys.press(letter);
        if (letters.length < 10) await this.keys.press("Enter");
    }

    // Shorts and leakage clear, the figures in order, gas clear.
    async read(...figures) {
        await this.waitFocus("field-0-shorts");
        await this.keys.press("a");
        await this.keys.press("a");
        for (const f of figures) {
            await this.keys.type(f);
            await this.keys.press("Enter");
        }
        await this.waitFocus("field-0-gas");
        await this.keys.press("a");
    }

    // Answer what is asked with yes until it is saved.
    async confirmAll() {
        for (let i = 0; i < 12; i++) {
            await this.page.waitForTimeout(200);
            if (await this.focused() === "scan") return;
            if (await this.page.locator(".field:focus-within .question kbd").count()) await this.keys.press("y");
            await this.keys.press("Enter");
        }
        throw new Error("it still asks");
    }

    // Whatever came before: back at an empty scan field.
    async atScan() {
        await this.keys.press("Escape");
        await this.keys.press("Alt+b");
        await this.waitFocus("scan");
        await this.keys.press("Control+a");
        await this.keys.press("Delete");
    }

    text = async (selector) => (await this.page.locator(selector).first().innerText()).replace(/[\s\u202f]+/g, " ").trim();
    async see(selector, pattern) {
        await this.page.waitForFunction(([s, p]) => [...document.querySelectorAll(s)]
            .some((e) => new RegExp(p, "i").test(e.innerText.replace(/[\s\u202f]+/g, " "))), [selector, pattern]);
    }
}
