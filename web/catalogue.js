// SPDX-License-Identifier: MIT
// catalogue: what the daemon knows of a type, laid out as the pages use it.
import { getOr } from "./api.js";

const known = new Map();

const at = (designation, what = "") => `/api/types/${encodeURIComponent(designation)}${what}`;

export const equivalentsPath = (designation) => at(designation, "/equivalents");

// "1.600 mA/V" -> ["1.6", "mA/V"]
function figureOf(text) {
    if (!text) return ["", ""];
    const [, number, unit] = /^(\S+)\s*(.*)$/.exec(text);
    return [number.includes(".") ? number.replace(/\.?0+$/, "") : number, unit];
}

function pointOf(p) {
    return {
        ...p,
        memory: p.known === "memory",
        figures: p.figures.map((f) => {
            const [nominal, unit] = figureOf(f.nominal), [low, u] = figureOf(f.low), [high, v] = figureOf(f.high);
            return { quantity: f.quantity, name: f.name, nominal, low, high, unit: unit || u || v, memory: f.known === "memory" };
        }),
    };
}

function typeFrom(t) {
    const fact = (field) => t.facts.find((f) => f.field === field)?.value || "";
    return {
        ...t,
        class: fact("class"),
        sections: Number(fact("sections")) || 1,
        topCap: fact("top_cap"),
        points: t.test_points.map(pointOf),
    };
}

// The type of a designation; null where the catalogue has none.
export async function typeOf(designation) {
    if (!known.has(designation)) {
        const t = await getOr(null, at(designation));
        if (!t) return null;
        known.set(designation, typeFrom(t));
    }
    return known.get(designation);
}

// The pin that carries the anode of a section; "" where it is not known.
export function anodePin(type, section) {
    const names = [`a.${section}`, ...((type?.sections || 1) === 1 ? ["a"] : [])];
    return (type?.pins || []).find((p) => p.carries.some((c) => names.includes(c)))?.pin || "";
}

// "Section 1, anode on pin 6": handbooks number sections differently, pins are pins.
export function sectionName(type, section) {
    const pin = anodePin(type, section);
    const words = (type?.sections || 1) === 1 ? "The section" : `Section ${section}`;
    return pin ? `${words}, anode on ${pin === "cap" ? "the cap" : `pin ${pin}`}` : words;
}
