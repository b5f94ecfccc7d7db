// SPDX-License-Identifier: MIT
// glass: a tube as a drawing that carries what is known of it.  Each section is a plate, filled to
// its share of the nominal value; the one that is being read glows; the getter flash is as large as
// the eye said; a crack is a crack.
import { html, svg, nothing } from "lit-html";

const ENVELOPE = "M22 172 V58 Q22 20 54 14 Q58 12 58 4 Q60 1 62 4 Q62 12 66 14 Q98 20 98 58 V172 Z";
const FLASH = { full: 46, most: 38, half: 30, little: 21, tinted: 36, white: 46 }; // how far down

function plate(i, count, section) {
    const room = 58, gap = 8;
    const w = (room - gap * (count - 1)) / count;
    const x = 60 - room / 2 + i * (w + gap), top = 66, h = 84;
    const full = section.share === null ? 0 : Math.max(0, Math.min(1.25, section.share / 100));
    const fill = h * (full / 1.25), mark = top + h - h / 1.25;
    return svg`
        <rect class="plate ${section.hot ? "hot" : ""}" x=${x} y=${top} width=${w} height=${h} rx="3"/>
        ${full ? svg`<rect class="fill" x=${x + 3} y=${top + h - fill} width=${w - 6}
                           height=${fill} rx="1"/>` : nothing}
        <line class="mark" x1=${x - 3} x2=${x + w + 3} y1=${mark} y2=${mark}/>
        ${section.hot ? svg`<path class="heater" d=${`M${x + w / 2 - 5} ${top + h + 12}
            v-8 q5 -8 10 0 v8`}/>` : nothing}
        <text class="pin" x=${x + w / 2} y=${top + h - 7}>${section.pin || ""}</text>`;
}

// sections: [{share, hot, pin}]; share in percent of nominal or null.
export function glass({ sections, flash, cracked, words }) {
    const down = FLASH[flash] || 0;
    return html`<svg class="glass" viewBox="0 0 120 210" role="img" aria-label=${words}>
        <clipPath id="inside-glass"><path d=${ENVELOPE}/></clipPath>
        ${down ? svg`<path class="flash ${flash}" clip-path="url(#inside-glass)"
            d=${`M20 0 H100 V${down - 6} Q60 ${down + 8} 20 ${down - 6} Z`}/>` : nothing}
        <path class="envelope" d=${ENVELOPE}/>
        <line class="mica" x1="26" x2="94" y1="58" y2="58"/>
        <line class="mica" x1="26" x2="94" y1="158" y2="158"/>
        ${sections.map((s, i) => plate(i, sections.length, s))}
        ${cracked ? svg`<path class="crack" d="M30 50 l10 14 l-6 10 l14 18 l-7 12 l9 14"/>` : nothing}
        <rect class="base" x="24" y="172" width="72" height="9" rx="2"/>
        ${[0, 1, 2, 3, 4, 5, 6, 7].map((i) => svg`
            <line class="leg" x1=${30 + i * 8.6} x2=${30 + i * 8.6} y1="181" y2="201"/>`)}
    </svg>`;
}
