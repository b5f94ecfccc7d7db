// SPDX-License-Identifier: MIT
// pictures: every page in dark, light, narrow and print, into build/pictures, to be looked at; and
// with --readme the small one that README shows.
import { mkdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { browserOpen } from "./browser.mjs";
import { daemonStart, ownerMade, stockMade } from "./daemon.mjs";
import { Hands } from "./sitting.mjs";

const TOP = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
const FOLDER = join(TOP, "build", "pictures");
const LOOKS = [
    { name: "dark", dark: true, width: 1440, height: 900 },
    { name: "light", dark: false, width: 1440, height: 900 },
    { name: "narrow", dark: true, width: 360, height: 1500 },
    { name: "wide", dark: true, width: 2560, height: 1300 },
];

mkdirSync(FOLDER, { recursive: true });
const daemon = await daemonStart();
const client = await ownerMade(daemon);
const made = await stockMade(client, 60);

let read = 0; // no two tubes alike: that would be asked about

async function sitting(hands) {
    const more = ++read / 100;
    await hands.newTube("ECC83", "Halvorsen Rør", "L-2026-04");
    await hands.look();
    await hands.read(...[1.17, 1.55, 1.19, 1.57].map((v) => (v + more).toFixed(2).replace(".", ",")));
    await hands.see(".state", "saved|question");
    await hands.confirmAll();
    await hands.see(".partners", "within");
}

for (const look of LOOKS) {
    const browser = await browserOpen(look);
    const hands = new Hands(browser.page, daemon.url);
    const shot = async (page, whole = false) => {
        await hands.page.waitForTimeout(400);
        await hands.page.screenshot({ path: join(FOLDER, `${page}-${look.name}.png`), fullPage: whole, timeout: 60000 });
    };
    await hands.signIn();
    await hands.waitFocus("scan");
    for (let i = 0; i < 2; i++) await sitting(hands);
    await shot("bench");
    if (look.name === "dark" && process.argv.includes("--readme")) {
        await hands.page.setViewportSize({ width: 1160, height: 660 });
        await hands.page.waitForTimeout(300);
        await hands.page.screenshot({ path: join(TOP, "web", "picture-bench.png") });
        await hands.page.setViewportSize(look);
    }
    await hands.newTube("ECC83", "Halvorsen Rør", "L-2026-04");
    await hands.keys.press("Escape");
    await hands.keys.press("ArrowUp");
    for (const letter of "aas") await hands.keys.press(letter);
    await shot("bench-look");
    await hands.keys.press("Enter");
    await hands.read("1,19", "15,5", "1,21", "1,6");
    await hands.page.waitForSelector(".question");
    await shot("bench-question");
    await hands.atScan();
    await hands.keys.press("+");
    await hands.waitFocus("new-printed");
    await shot("bench-new");
    for (const [name, place, there] of [["lookup", "lookup?text=ECC83", ".type"], ["lookup-unknown", "lookup?text=6X9Z", ".hits"],
        ["shelf", "shelf", ".tubes"], ["tube", `tube/${made[0]}`, ".partners"]]) {
        await hands.page.goto(`${daemon.url}/#/${place}`);
        await hands.page.waitForSelector(there);
        await shot(name);
        if (look.name === "light" && name === "tube") {
            await hands.page.emulateMedia({ media: "print" });
            await shot("tube-print", true);
            await hands.page.emulateMedia({ media: "screen" });
        }
    }
    await hands.keys.press("Alt+m");
    await hands.waitFocus("sets-family");
    await hands.keys.type("6П6С");
    await hands.keys.press("Enter");
    await hands.page.waitForSelector(".found");
    await shot("sets");
    await hands.keys.press("F1");
    await shot("help");
    await browser.close();
}
const browser = await browserOpen({ dark: false });
await browser.page.goto(daemon.url);
await browser.page.waitForSelector("#sign-name");
await browser.page.screenshot({ path: join(FOLDER, "sign-light.png") });
await browser.close();
await daemon.stop();
console.log(`pictures are in ${FOLDER}`);
