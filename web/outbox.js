// SPDX-License-Identifier: MIT
// outbox: saves that the daemon has not acknowledged.  Each is written to the browser's own store
// before it is sent, with the key that makes sending it twice harmless and the name of the one who
// typed it, and leaves only when it was answered.
import { Refusal, Unreachable, newKey, post } from "./api.js";
import { session } from "./session.js";

const PLACE = "quadrille.outbox";
const AGAIN_MS = 5000;

let entries = read();
let timer = 0, busy = false, started = false;
const listeners = [];

function read() {
    try {
        return JSON.parse(localStorage.getItem(PLACE)) || [];
    } catch {
        return [];
    }
}

function write() {
    try {
        localStorage.setItem(PLACE, JSON.stringify(entries));
    } catch {
        // The list in memory still holds it, and the page says that it waits.
    }
    for (const tell of listeners) tell();
}

const mine = (e) => e.user === session.name();

// Told whenever the list changes.
export function whenOutbox(tell) {
    listeners.push(tell);
}

// What waits of the one who is signed in, and of others who used this browser.
export const waiting = () => entries.filter((e) => mine(e) && e.waits);
export const waitingOfOthers = () => entries.filter((e) => !mine(e)).length;

const done = new Map(); // id -> what to tell

async function send(e) {
    try {
        const data = await post(e.path, e.body, e.key);
        leave(e);
        return data;
    } catch (why) {
        const later = why instanceof Unreachable ||
            (why instanceof Refusal && [401, 429, 500, 502, 503, 504, 507].includes(why.status));
        if (!later) {
            leave(e);
            throw why;
        }
        e.waits = true;
        write();
        arm();
        throw why;
    }
}

function leave(e) {
    entries = entries.filter((other) => other !== e);
    write();
}

// Send a body; keep it until it is answered.  The promise settles with the first answer there is:
// data, or a Refusal of what was sent, or the reason for which it waits now.  `later` is told when a
// waiting one was answered after all: later(error, data).
export function deliver(path, body, label, later) {
    const e = { id: newKey(), key: newKey(), user: session.name(), path, body, label, waits: false };
    entries.push(e);
    write();
    if (later) done.set(e.id, later);
    return send(e).then((data) => {
        done.delete(e.id);
        return data;
    }, (why) => {
        if (!e.waits) done.delete(e.id);
        throw why;
    });
}

function arm() {
    clearTimeout(timer);
    timer = setTimeout(sendAgain, AGAIN_MS);
}

// Send what waits, oldest first; stop at the first that still cannot go.
export async function sendAgain() {
    clearTimeout(timer);
    if (busy) return;
    busy = true;
    for (const e of waiting()) if (!(await sendOne(e))) break;
    busy = false;
}

// false: it still cannot go.
async function sendOne(e) {
    const later = done.get(e.id);
    let data = null, why = null;
    try {
        data = await send(e);
    } catch (reason) {
        if (entries.includes(e)) return false;
        why = reason;
    }
    done.delete(e.id);
    if (later) later(why, data);
    else if (why) refused.push({ label: e.label, body: e.body, text: why.message });
    return true;
}

// Refused after a page reload, when nobody waits for the answer any more: shown until read.
export const refused = [];

// A reload in the middle of a save leaves entries that were perhaps sent: they go again.
export function outboxStart() {
    if (!started) {
        for (const e of entries) e.waits = true;
        addEventListener("online", sendAgain);
        started = true;
    }
    if (waiting().length) sendAgain();
}
