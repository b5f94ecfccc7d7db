// SPDX-License-Identifier: MIT
// cloud: the members of sets as points in two of their coordinates; the set in hand is tied
// together.  The list beside it tells the same in words, so the drawing is only a help for the eye.
import { html, svg, nothing } from "lit-html";
import { roughly } from "./number.js";
import { coordinateWords } from "./partner.js";

const W = 420, H = 320, LEFT = 56, LOW = 40, EDGE = 14;

function scaleOf(values) {
    const low = Math.min(...values), high = Math.max(...values), room = (high - low || Math.abs(high) || 1) * 0.08;
    return { low: low - room, high: high + room };
}

function ticks({ low, high }) {
    const rough = (high - low) / 4, power = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= rough);
    const out = [];
    for (let v = Math.ceil(low / step) * step; v <= high; v += step) out.push(Number(v.toPrecision(6)));
    return out;
}

// The outline of a handful of points, so that a set reads as one thing (monotone chain).
function hull(points) {
    const p = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
    const turn = (o, a, b) => (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
    const half = (list) => list.reduce((h, q) => {
        while (h.length > 1 && turn(h.at(-2), h.at(-1), q) <= 0) h.pop();
        return [...h, q];
    }, []);
    return [...half(p).slice(0, -1), ...half(p.reverse()).slice(0, -1)];
}

// Of the coordinates that the sets were matched in: plate current against transconductance of one
// section where there are both, else the first two.
function axesOf(sets) {
    const names = Object.keys(sets[0].spread).filter((n) => Number.isFinite(roughly(sets[0].members[0].values[n])));
    const gm = names.find((n) => n.split(".")[0] === "gm" && names.includes(n.replace("gm", "ia")));
    return gm ? [gm.replace("gm", "ia"), gm] : [names[0], names[1] || names[0]];
}

export function cloudView(sets, hot) {
    const [nx, ny] = axesOf(sets);
    if (!nx) return nothing;
    const at = (m) => [roughly(m.values[nx]), roughly(m.values[ny])];
    const all = sets.flatMap((s) => s.members.map(at));
    const sx = scaleOf(all.map((p) => p[0])), sy = scaleOf(all.map((p) => p[1]));
    const x = (v) => LEFT + ((v - sx.low) / (sx.high - sx.low)) * (W - LEFT - EDGE);
    const y = (v) => H - LOW - ((v - sy.low) / (sy.high - sy.low)) * (H - LOW - EDGE);
    const place = (m) => at(m).map((v, i) => (i ? y(v) : x(v)));
    const tied = sets[hot] ? hull(sets[hot].members.map(place)) : [];
    return html`<figure class="cloud"><svg viewBox=${`0 0 ${W} ${H}`} role="img"
        aria-label=${`Cloud of ${all.length} tubes in ${sets.length} sets, ${coordinateWords(nx)} against ${coordinateWords(ny)}; the figures stand in the list`}>
        ${ticks(sx).map((v) => svg`<line class="grid" x1=${x(v)} x2=${x(v)} y1=${EDGE} y2=${H - LOW}/>
            <text class="tick-x" x=${x(v)} y=${H - LOW + 16}>${v}</text>`)}
        ${ticks(sy).map((v) => svg`<line class="grid" x1=${LEFT} x2=${W - EDGE} y1=${y(v)} y2=${y(v)}/>
            <text class="tick-y" x=${LEFT - 6} y=${y(v) + 4}>${v}</text>`)}
        <text class="axis" x=${(W + LEFT) / 2} y=${H - 6}>${coordinateWords(nx)}</text>
        <text class="axis" transform=${`translate(14 ${(H - LOW) / 2}) rotate(-90)`}>${coordinateWords(ny)}</text>
        ${sets.flatMap((s, i) => (i === hot ? [] : s.members.map((m) => {
            const [px, py] = place(m);
            return svg`<circle class="point" cx=${px} cy=${py} r="3.5"/>`;
        })))}
        ${tied.length ? svg`<polygon class="tie" points=${tied.map((p) => p.join(",")).join(" ")}/>` : nothing}
        ${(sets[hot]?.members || []).map((m) => {
            const [px, py] = place(m);
            return svg`<circle class="point hot" cx=${px} cy=${py} r="6"/>`;
        })}
    </svg><figcaption>Each point is a tube; the set in hand is tied together.</figcaption></figure>`;
}
