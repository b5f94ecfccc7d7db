// SPDX-License-Identifier: MIT
// api: one way to ask the daemon.  A refusal is an error with the daemon's own sentence; no answer
// at all is another kind, since then nothing is known to be wrong with what was sent.

export class Refusal extends Error {
    constructor(status, problem) {
        super(problem.detail || problem.title || `The daemon answered ${status}.`);
        this.status = status;
        this.field = problem.field || "";
        this.code = problem.code || "";
        this.questions = problem.questions || null;
    }
}

export class Unreachable extends Error {
    constructor() {
        super("The daemon does not answer.");
    }
}

const onLost = [];
// Told when the daemon no longer knows who is signed in.
export function whenSessionLost(tell) {
    onLost.push(tell);
}

// A key for a POST that creates, so that sending it twice does it once.  randomUUID is missing where
// the page did not come over TLS or loopback.
export function newKey() {
    return Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) =>
        b.toString(16).padStart(2, "0")).join("");
}

async function bodyOf(answer) {
    const text = await answer.text();
    if (!text) return null;
    try {
        return JSON.parse(text);
    } catch {
        return { detail: `The answer of the daemon could not be read (${answer.status}).` };
    }
}

// {data, next, etag}.  next: path of the following page, "" on the last.
export async function ask(method, path, body, { key, match, signal } = {}) {
    const headers = { Accept: "application/json" };
    if (body !== undefined) headers["Content-Type"] = "application/json";
    if (key) headers["Idempotency-Key"] = key;
    if (match) headers["If-Match"] = match;
    let answer, data;
    try {
        answer = await fetch(path, {
            method, headers, signal, credentials: "same-origin",
            body: body === undefined ? undefined : JSON.stringify(body),
        });
        data = await bodyOf(answer);
    } catch (e) {
        if (e.name === "AbortError") throw e;
        throw new Unreachable();
    }
    if (answer.status === 401 && path !== "/api/session") for (const tell of onLost) tell();
    if (!answer.ok) throw new Refusal(answer.status, data || {});
    const link = /<([^>]+)>;\s*rel="?next"?/.exec(answer.headers.get("Link") || "");
    return { data, next: link ? link[1] : "", etag: answer.headers.get("ETag") || "" };
}

export const get = async (path, options) => (await ask("GET", path, undefined, options)).data;
export const post = async (path, body, key) => (await ask("POST", path, body, { key })).data;

// What get gives, or `otherwise` when there is no such thing (yet): pages say so in words.
export async function getOr(otherwise, path) {
    try {
        return await get(path);
    } catch (e) {
        if (e instanceof Refusal && (e.status === 404 || e.status === 405)) return otherwise;
        throw e;
    }
}

export function query(path, fields) {
    const q = new URLSearchParams();
    for (const [name, value] of Object.entries(fields))
        if (value !== "" && value !== undefined && value !== null) q.set(name, value);
    const text = q.toString();
    return text ? `${path}?${text}` : path;
}
