// SPDX-License-Identifier: MIT
// session: who is signed in.
import { ask, get, post } from "./api.js";

let now = null; // {person: {name, shown}, role, expires}

export const session = {
    there: () => now !== null,
    name: () => now?.person?.name || "",
    shown: () => now?.person?.shown || now?.person?.name || "",
    role: () => now?.role || "",
    mayStock: () => ["owner", "bench", "counter"].includes(now?.role),
    mayTest: () => ["owner", "bench"].includes(now?.role),
};

// "setup", "sign-in" or "in".  A stranger is not asked who he is: that would be refused, and every
// refusal is written to the browser's console.
export async function sessionLoad() {
    const { needed, signed_in } = await get("/api/setup");
    now = signed_in ? await get("/api/session") : null;
    return needed ? "setup" : now ? "in" : "sign-in";
}

export async function sessionSetUp(fields) {
    now = await post("/api/setup", fields);
}

export async function sessionSignIn(name, password) {
    now = await post("/api/session", { name, password });
}

export async function sessionSignOut() {
    await ask("DELETE", "/api/session");
    now = null;
}
