// SPDX-License-Identifier: MIT
// caution: what must be in sight where tubes are heated, and what a type is dangerous for.
import { html, nothing } from "lit-html";

export const cautionsView = () => html`<footer class="cautions" aria-label="Cautions">
    <p><strong>⚠ Lethal volts.</strong> Testers and amplifiers can kill, also some time after they are switched off.</p>
    <p><strong>⚠ Hot glass, high vacuum.</strong> Let it cool; it burns and can implode. Wear eye protection.</p>
    <p><strong>⚠ Some hold poison.</strong> Radioactive, mercury and beryllia types stay whole.</p>
    <p><strong>Local codes and licensed practice come first.</strong></p>
</footer>`;

export function hazardsView(type) {
    const hazards = type?.hazards || [];
    if (!hazards.length) return nothing;
    return html`<ul class="hazards">${hazards.map((h) => html`<li>
        <strong>⚠ ${h.kind}</strong> ${h.words}
        ${h.known === "memory" ? html`<span class="memory">from memory</span>` : nothing}</li>`)}</ul>`;
}
