// SPDX-License-Identifier: MIT
// daemon: the built program on a free port with a data folder of its own, and a small stock made
// through its API.  All people, makers and lots are invented.
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const TOP = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
const PROGRAM = process.env.QUADRILLE || join(TOP, "build", "quadrille");

export const OWNER = { name: "vera", shown: "Vera L.", password: "seven quiet brown valves" };

function started(child, patience) {
    return new Promise((resolve, reject) => {
        let said = "";
        const timer = setTimeout(() => reject(new Error(`the daemon did not start: ${said}`)), patience);
        const hear = (piece) => {
            said += piece;
            const url = /http:\/\/127\.0\.0\.1:\d+/.exec(said);
            if (!url) return;
            clearTimeout(timer);
            const token = /set-up token, which works once:\s+(\S+)/.exec(said);
            resolve({ url: url[0], token: token ? token[1] : "" });
        };
        child.stdout.on("data", hear);
        child.stderr.on("data", hear);
        child.on("exit", (code) => reject(new Error(`the daemon ended with ${code}: ${said}`)));
    });
}

// {url, token, stop, kill, again}
export async function daemonStart(folder = mkdtempSync(join(tmpdir(), "quadrille-web-")), port = 0) {
    const pages = process.env.QUADRILLE_WEB ? ["--web", process.env.QUADRILLE_WEB] : []; // else the packed ones
    const child = spawn(PROGRAM, ["serve", "--data", folder, "--port", String(port), ...pages],
        { env: { ...process.env, XDG_CONFIG_HOME: folder } });
    const gone = new Promise((resolve) => child.on("exit", resolve));
    const { url, token } = await started(child, 20000);
    return {
        url, token, folder,
        kill: async () => { child.kill("SIGKILL"); await gone; },
        again: () => daemonStart(folder, Number(new URL(url).port)),
        stop: async () => {
            child.kill("SIGTERM");
            await gone;
            rmSync(folder, { recursive: true, force: true });
        },
    };
}

// ---- asking it, as a script would ---------------------------------------------------------------

let keys = 0;

export class Client {
    cookie = "";
    constructor(url) {
        this.url = url;
    }
    async ask(method, path, body) {
        const answer = await fetch(this.url + path, {
            method,
            headers: {
                ...(body ? { "Content-Type": "application/json" } : {}),
                ...(this.cookie ? { Cookie: this.cookie } : {}),
                ...(method === "POST" && !/\/api\/(setup|session)$/.test(path) ? { "Idempotency-Key": `test-${++keys}` } : {}),
            },
            body: body ? JSON.stringify(body) : undefined,
        });
        const set = answer.headers.get("set-cookie");
        if (set) this.cookie = set.split(";")[0];
        const text = await answer.text();
        const data = text ? JSON.parse(text) : null;
        if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${text}`);
        return data;
    }
    get = (path) => this.ask("GET", path);
    post = (path, body) => this.ask("POST", path, body);
}

export async function ownerMade(daemon) {
    const c = new Client(daemon.url);
    await c.post("/api/setup", { token: daemon.token, ...OWNER });
    return c;
}

export async function ownerKnown(daemon) {
    const c = new Client(daemon.url);
    await c.post("/api/session", { name: OWNER.name, password: OWNER.password });
    return c;
}

// ---- a small stock ------------------------------------------------------------------------------

export const TESTER = {
    code: "bench-1", title: "Bench one", reads: [
        { quantity: "shorts", unit: "" }, { quantity: "leakage", unit: "" },
        { quantity: "ia", unit: "mA", low: "0", high: "200", resolution: "0.01" },
        { quantity: "gm", unit: "mA/V", low: "0", high: "20", resolution: "0.01" },
        { quantity: "gas", unit: "" }],
};

const LOOK = [["pins", "bright"], ["getter", "full"], ["plate", "clean"], ["label", "clear"], ["glass", "sound"],
    ["loose", "none"], ["box", "original"]].map(([aspect, finding]) => ({ aspect, finding }));

// A repeatable spread: a plain linear congruence, so that every run sees the same stock.
function spreads(seed) {
    let s = seed;
    return (most) => {
        s = (s * 1103515245 + 12345) % 2147483648;
        return (s / 2147483648 - 0.5) * 2 * most;
    };
}

export async function read(c, stockNo, sections, more = {}) {
    const body = { tester: TESTER.code, sections: [
        { section: 0, values: [{ quantity: "shorts", typed: "0" }, { quantity: "leakage", typed: "0" }] },
        ...sections.map((values, i) => ({ section: i + 1, values: Object.entries(values)
            .map(([quantity, typed]) => ({ quantity, typed: String(typed) })) }))], ...more };
    body.sections[0].values.push({ quantity: "gas", typed: "0" });
    const answer = await fetch(`${c.url}/api/tubes/${stockNo}/readings`, {
        method: "POST", body: JSON.stringify(body),
        headers: { "Content-Type": "application/json", Cookie: c.cookie, "Idempotency-Key": `test-${++keys}` },
    });
    const data = await answer.json();
    if (answer.status === 409 && !more.confirm)
        return read(c, stockNo, sections, { confirm: [...new Set(data.questions.map((q) => q.rule))] });
    if (!answer.ok) throw new Error(`reading ${stockNo}: ${answer.status} ${JSON.stringify(data)}`);
    return data;
}

// Makers, lots, bins, a tester and `count` read tubes of three types; their stock numbers.
export async function stockMade(c, count = 24) {
    for (const name of ["Halvorsen Rør", "Valvola Bergamo", "Завод Сириус"]) await c.post("/api/makers", { name });
    for (const code of ["A1", "A2", "B4", "C3-2"]) await c.post("/api/bins", { code });
    await c.post("/api/lots", { code: "L-2026-04", title: "Cellar of a closed radio shop", bought: "2026-04-11" });
    await c.post("/api/lots/L-2026-04/lines", { printed: "6П6С", count: 40, maker: "Завод Сириус" });
    await c.post("/api/testers", TESTER);
    const off = spreads(7), made = [];
    const kinds = [
        { printed: "ECC83", maker: "Halvorsen Rør", bin: "A1", date: "1961", sections: 2, ia: 1.2, gm: 1.6 },
        { printed: "6П6С", maker: "Завод Сириус", bin: "C3-2", date: "1958..1962", sections: 1, ia: 45, gm: 4.1 },
        { printed: "12AU7", maker: "Valvola Bergamo", bin: "B4", date: "1964", sections: 2, ia: 10.5, gm: 2.2 },
    ];
    for (let i = 0; i < count; i++) {
        const k = kinds[i % kinds.length];
        const t = await c.post("/api/tubes", { printed: k.printed, maker: k.maker, bin: k.bin, date: k.date,
            lot: "L-2026-04", history: "unused", history_word: "the shop's last owner" });
        await c.post(`/api/tubes/${t.stock_no}/inspections`, { findings: LOOK });
        const worn = i % 11 === 10 ? 0.72 : 1;
        const sections = Array.from({ length: k.sections }, () => ({
            ia: (k.ia * worn * (1 + off(0.08))).toFixed(k.ia < 5 ? 3 : 1), gm: (k.gm * worn * (1 + off(0.05))).toFixed(2) }));
        await read(c, t.stock_no, sections);
        made.push(String(t.stock_no));
    }
    return made;
}
