// SPDX-License-Identifier: MIT
// help: the sheet of all keys.
import { html } from "lit-html";

const KEYS = [
    ["Everywhere", [
        [["Alt", "B"], "bench"], [["Alt", "L"], "look-up"], [["Alt", "S"], "shelf"], [["Alt", "M"], "matched sets"],
        [["Alt", "R"], "send again what waits"], [["Alt", "D"], "dark, light, as the system"],
        [["?"], "this sheet (in an empty field)"], [["F1"], "this sheet (anywhere)"]]],
    ["Bench, scan field", [
        [["Enter"], "open the tube of that number or mark"], [["+"], "a new tube; Enter again makes one like the last"],
        [["-"], "take back the last save of the tube shown"], [["↓"], "to the readings of the tube shown"],
        [["↑"], "to its look"]]],
    ["Bench, look", [
        [["a"], "… to l: choose, and go to the next"], [["Shift", "a"], "… choose and stay, for several"],
        [["Space"], "not looked at, next"], [["Backspace"], "one back"], [["Enter"], "on to the readings"],
        [["0"], "… to 9: a scan begins; the look stays"]]],
    ["Bench, readings", [
        [["Enter"], "next field; on the last, save"], [["Shift", "Enter"], "one back"], [["↑", "↓"], "move"],
        [["Ctrl", "Enter"], "save now"], [["y"], "yes, keep it: answers a question"],
        [["m"], "take what was probably meant"], [["a"], "… to l: choose a word"],
        [["Esc"], "to the scan field; entries stay with the tube"]]],
    ["Lists", [[["↓", "↑"], "along the rows"], [["Enter"], "open"]]],
];

const place = () => document.querySelector("#help");

export function helpToggle() {
    const d = place();
    if (d.open) d.close();
    else d.showModal();
}

export const helpView = () => html`<dialog id="help" aria-labelledby="help-head"
        @keydown=${(e) => { if (e.key === "?" || e.key === "F1") { e.preventDefault(); e.stopPropagation(); place().close(); } }}>
    <h2 id="help-head">All keys</h2>
    <div class="sheet" tabindex="0" role="group" aria-label="Keys by place">${KEYS.map(([where, keys]) => html`<section><h3>${where}</h3>
        <dl>${keys.map(([press, does]) => html`<div><dt>${press.map((k) => html`<kbd>${k}</kbd> `)}</dt><dd>${does}</dd></div>`)}</dl></section>`)}
    </div>
    <p>A decimal comma is understood. A unit may be typed behind the figure: <b>5200 umho</b>. Readings are never
        overwritten: a wrong one is voided and stays visible.</p>
    <p><button type="button" @click=${() => place().close()}>Close</button></p>
</dialog>`;
