// SPDX-License-Identifier: MIT
// browser: Debian's Chromium under test, and what must never be said on its console.
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

// The packages of the pages are in web/, not here.
const web = createRequire(join(dirname(fileURLToPath(import.meta.url)), "..", "..", "web", "package.json"));
const { chromium } = web("playwright-core");
export const AXE = web.resolve("axe-core/axe.min.js");

const PROGRAM = process.env.CHROMIUM || "/usr/bin/chromium";
const FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync"];

export const browserThere = () => existsSync(PROGRAM);

// A window of its own profile.  complaints: errors of the console, of scripts and of the policy.
export async function browserOpen({ width = 1440, height = 900, dark = true } = {}) {
    const profile = mkdtempSync(join(tmpdir(), "quadrille-chromium-"));
    const window = await chromium.launchPersistentContext(profile, {
        executablePath: PROGRAM, args: FLAGS, headless: true, viewport: { width, height },
        colorScheme: dark ? "dark" : "light", reducedMotion: "reduce",
    });
    const page = window.pages()[0] || await window.newPage();
    const complaints = [];
    let expected = () => false;
    page.on("console", (m) => {
        if (["error", "warning"].includes(m.type()) && !expected(m.text(), m.location().url))
            complaints.push(`${m.text()} (${m.location().url})`);
    });
    page.on("pageerror", (e) => complaints.push(`script: ${e.message}`));
    return {
        page, complaints,
        // An answer 4xx is written to the console by the browser itself: those that a test provokes.
        expect: (f) => { expected = f; },
        close: async () => { await window.close(); rmSync(profile, { recursive: true, force: true }); },
    };
}
