// SPDX-License-Identifier: MIT
// vocabulary: what is asked once and then known for the sitting: the words of an inspection, the
// quantities, testers, makers, lots and bins.
import { get, getOr } from "./api.js";

const kept = new Map();

function once(name, load) {
    if (!kept.has(name)) {
        const p = load();
        kept.set(name, p);
        p.catch(() => kept.delete(name));
    }
    return kept.get(name);
}

const items = async (path) => (await get(path)).items;

export const aspects = () =>
    once("aspects", async () => (await getOr({ items: [] }, "/api/inspection-vocabulary")).items);
export const quantities = () =>
    once("quantities", async () =>
        new Map((await items("/api/quantities")).map((q) => [q.code, q])));
export const testers = () => once("testers", () => items("/api/testers"));
export const makers = () => once("makers", () => items("/api/makers?limit=500"));
export const lots = () => once("lots", () => items("/api/lots?limit=100"));
export const bins = () => once("bins", () => items("/api/bins?limit=500"));

// To be asked again: "makers" after one was added.
export function forget(name) {
    kept.delete(name);
}
