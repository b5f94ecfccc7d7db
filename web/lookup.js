import { html } from "lit-html";
export const page = { title: "Look-up", enter() {}, view: () => html`<h1>Look-up</h1>` };
