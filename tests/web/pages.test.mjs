// SPDX-License-Identifier: MIT
// The pages in Debian's Chromium against the real daemon, by keyboard events alone.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { after, before, test } from "node:test";
import { AXE, browserOpen, browserThere } from "./browser.mjs";
import { OWNER, daemonStart, ownerKnown, stockMade } from "./daemon.mjs";
import { Hands } from "./sitting.mjs";

const skip = !browserThere() && !process.env.CI && "Chromium is missing: apt-get install chromium";

let daemon, client, made, browser, hands;

before(async () => {
    if (skip) return;
    daemon = await daemonStart();
    browser = await browserOpen();
    hands = new Hands(browser.page, daemon.url);
}, { timeout: 60000 });

after(async () => {
    if (skip) return;
    await browser.close();
    await daemon.stop();
});

// Evaluated by the browser's own tools, which the content policy does not hold back.
const axe = skip ? "" : readFileSync(AXE, "utf8");

// Light differs from dark in its colours alone: there the rules about colour are enough.
async function violations(page, rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]) {
    await page.evaluate(axe);
    const found = await page.evaluate((runOnly) => window.axe.run(document, { runOnly, resultTypes: ["violations"] }), rules);
    return found.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.target.join(" ")).join("; ")}`);
}

const check = (name, f) => test(name, { skip, timeout: 60000 }, f);

check("the owner's account is made with the token printed at start; a wrong one is refused at its field", async () => {
    await hands.setUp("not-the-token");
    await hands.see("#sign-token-help", "not the set-up token");
    await hands.waitFocus("sign-token");
    assert.deepEqual(await violations(hands.page), []);
    await hands.setUp(daemon.token);
    await hands.waitFocus("scan");
    client = await ownerKnown(daemon);
    assert.equal((await client.get("/api/session")).role, "owner");
    made = await stockMade(client, 30);
});

check("signed out and in again, a wrong password is refused in words", async () => {
    await hands.page.locator(".who button", { hasText: "sign out" }).focus();
    await hands.keys.press("Enter");
    await hands.waitFocus("sign-name");
    await hands.fill(OWNER.name, "not the password");
    await hands.keys.press("Enter");
    await hands.see(".trouble", "name or the password is wrong");
    assert.deepEqual(await violations(hands.page), []);
    await hands.signIn();
    await hands.waitFocus("scan");
});

async function readingsOf(number) {
    return (await client.get(`/api/tubes/${number}/readings`)).readings;
}

const numberInHand = async () => (await hands.text(".identity .no")).replace(/\D/g, "");

const atBench = (name, f) => check(name, async () => {
    await hands.atScan();
    await f();
});

atBench("a tube is made, looked at, read and graded without a mouse, and the focus is back in the scan field", async () => {
    await hands.newTube("ECC83", "Halvorsen Rør", "L-2026-04");
    const number = await numberInHand();
    await hands.look();
    await hands.read("1,22", "1,58", "1.21", "1610 umho");
    await hands.waitFocus("scan");
    await hands.see(".state", "saved");
    await hands.see(".graded h3", "prime");
    await hands.see(".partners", "within 10%");
    const kept = await readingsOf(number);
    const typed = kept.flatMap((r) => r.values.map((v) => `${r.section} ${v.quantity} ${v.typed} ${v.unit || ""}`.trim())).sort();
    assert.deepEqual(typed, ["0 gas 0", "0 leakage 0", "0 shorts 0", "1 gm 1,58 mA/V", "1 ia 1,22 mA",
        "2 gm 1610 umho", "2 ia 1.21 mA"]);
    const looks = (await client.get(`/api/tubes/${number}/inspections`)).items;
    assert.equal(looks.length, 1);
    assert.ok(looks[0].findings.some((f) => f.aspect === "pins" && f.finding === "bright"));
});

atBench("the next of the same box is two keys", async () => {
    const before = await numberInHand();
    await hands.keys.press("+");
    await hands.waitFocus("new-printed");
    await hands.keys.press("Enter");
    await hands.waitFocus("look");
    const number = await numberInHand();
    assert.notEqual(number, before);
    const tube = await client.get(`/api/tubes/${number}`);
    assert.equal(`${tube.printed} ${tube.maker} ${tube.lot}`, "ECC83 Halvorsen Rør L-2026-04");
});

atBench("a maker that is not known is named, and Enter once more adds it", async () => {
    await hands.keys.press("+");
    await hands.waitFocus("new-printed");
    await hands.fill("12AU7", "Nordlys Elektro");
    await hands.keys.press("Enter");
    await hands.see(".trouble", "Enter once more adds maker");
    await hands.waitFocus("new-maker");
    await hands.keys.press("Enter");
    await hands.waitFocus("look");
    assert.equal((await client.get(`/api/tubes/${await numberInHand()}`)).maker, "Nordlys Elektro");
});

atBench("a question is asked at its field, keeps nothing, and y with Enter keeps the reading with its rule", async () => {
    await hands.scan(made[2]); // 12AU7, read before
    await hands.waitFocus("field-0-shorts");
    const before = (await readingsOf(made[2])).length;
    await hands.read("10,4", "22", "10,6", "2,2");
    await hands.waitFocus("field-1-gm");
    await hands.see(".question", "Is that right");
    assert.equal((await readingsOf(made[2])).length, before, "nothing is kept before the answer");
    await hands.confirmAll();
    await hands.see(".state", "saved");
    const kept = (await readingsOf(made[2])).filter((r) => r.section === 1)[0];
    assert.ok(kept.questions, "the reading carries the rule it was kept against");
    assert.ok(kept.values.some((v) => v.typed === "22"));
});

atBench("a question can be answered by typing the value again", async () => {
    await hands.scan(made[5]);
    await hands.read("10,4", "21,9", "10,6", "2,21");
    await hands.waitFocus("field-1-gm");
    await hands.keys.type("2,19");
    await hands.keys.press("Enter");
    await hands.confirmAll();
    await hands.see(".state", "saved");
    const kept = (await readingsOf(made[5])).filter((r) => r.section === 1)[0];
    assert.ok(kept.values.some((v) => v.typed === "2,19"));
});

atBench("a scan inside a reading field is refused, and nothing of it is kept", async () => {
    await hands.scan(made[8]);
    await hands.waitFocus("field-0-shorts");
    await hands.keys.press("a");
    await hands.keys.press("a");
    await hands.keys.type(made[0]);
    await hands.keys.press("Enter");
    await hands.see(".trouble", "is a stock number, not a reading");
    assert.equal(await hands.page.inputValue("#field-1-ia"), "");
    await hands.waitFocus("field-1-ia");
});

atBench("a scan in the middle of a look goes to the scan field, and the look stays as it was", async () => {
    const fresh = await client.post("/api/tubes", { printed: "12AU7" });
    await hands.scan(String(fresh.stock_no));
    await hands.look("a");
    // the look is left by Enter; open it again, then scan
    await hands.atScan();
    const other = await client.post("/api/tubes", { printed: "12AU7" });
    await hands.scan(String(other.stock_no));
    await hands.waitFocus("look");
    await hands.keys.press("s");
    await hands.keys.type(made[1]);
    await hands.waitFocus("scan");
    assert.equal(await hands.page.inputValue("#scan"), made[1]);
    await hands.keys.press("Enter");
    await hands.see(".identity", "6П6С");
    await hands.atScan();
    await hands.scan(String(other.stock_no));
    await hands.see(".look", "dulled by air");
});

atBench("a look that is changed is kept as another look, and an unchanged one is not sent twice", async () => {
    const fresh = await client.post("/api/tubes", { printed: "ECC83" });
    const looks = async () => (await client.get(`/api/tubes/${fresh.stock_no}/inspections`)).items;
    await hands.scan(String(fresh.stock_no));
    await hands.look("a");
    await hands.waitFocus("field-0-shorts");
    await hands.keys.press("ArrowUp");
    await hands.look("");
    await hands.waitFocus("field-0-shorts");
    await hands.keys.press("ArrowUp");
    await hands.waitFocus("look");
    await hands.keys.press("ArrowUp"); // back to the pins, the aspect in hand
    await hands.keys.press("g");
    await hands.keys.press("Enter");
    await hands.waitFocus("field-0-shorts");
    await hands.page.waitForTimeout(300);
    const found = (await looks()).map((l) => l.findings.map((f) => f.finding).join());
    assert.deepEqual(found, ["worn", "bright"]);
});

atBench("what was saved is not saved again by going through its fields", async () => {
    await hands.scan(made[0]);
    await hands.read("1,23", "1,60", "1,22", "1,61");
    await hands.see(".state", "saved|question");
    await hands.confirmAll();
    await hands.see(".state", "saved");
    const before = (await readingsOf(made[0])).length;
    await hands.keys.press("ArrowDown");
    await hands.waitFocus("field-0-shorts");
    await hands.keys.press("Control+Enter");
    await hands.see("#scan-told", "saved just so already");
    assert.equal((await readingsOf(made[0])).length, before);
});

atBench("a short ends the test: what follows is not read, and Enter saves", async () => {
    const fresh = await client.post("/api/tubes", { printed: "6П6С", maker: "Завод Сириус" });
    await hands.scan(String(fresh.stock_no));
    await hands.look("a");
    await hands.waitFocus("field-0-shorts");
    await hands.keys.press("d");
    await hands.waitFocus("scan");
    await hands.see(".graded h3", "reject");
    const kept = await readingsOf(fresh.stock_no);
    assert.deepEqual(kept.flatMap((r) => r.values.map((v) => v.quantity)), ["shorts"]);
});

atBench("the last save is taken back by one key and a reason, and stays visible", async () => {
    await hands.waitFocus("scan");
    await hands.keys.press("-");
    await hands.waitFocus("take-back-reason");
    await hands.keys.press("Enter");
    await hands.waitFocus("scan");
    await hands.see("#scan-told", "are void");
    const number = await numberInHand();
    assert.ok((await readingsOf(number)).every((r) => r.voided && r.void_reason === "typed wrong"));
});

atBench("with the daemon gone a save waits, and is sent once it is back, once", async () => {
    browser.expect((text) => /ERR_CONNECTION_REFUSED|ERR_CONNECTION_RESET|ERR_EMPTY_RESPONSE/.test(text));
    const number = made[11];
    await hands.scan(number);
    await hands.waitFocus("field-0-shorts");
    await hands.keys.press("a");
    await hands.keys.press("a");
    for (const f of ["10,5", "2,18", "10,4"]) {
        await hands.keys.type(f);
        await hands.keys.press("Enter");
    }
    await hands.keys.type("2,2");
    await daemon.kill();
    await hands.keys.press("Control+Enter");
    await hands.waitFocus("scan");
    await hands.see(".waits", "1 save not yet at the daemon");
    daemon = await daemon.again();
    await hands.keys.press("Alt+r");
    await hands.page.waitForSelector(".waiting-room .waits", { state: "detached" });
    const sent = (await readingsOf(number)).filter((r) => r.section === 2 && r.values.some((v) => v.typed === "10,4"));
    const asked = await hands.page.locator(".state.asked").count();
    assert.equal(sent.length + asked, 1, "it is there once, or it waits for an answer");
});

atBench("what was typed survives a reload of the page", async () => {
    await hands.scan(made[14]);
    await hands.waitFocus("field-0-shorts");
    await hands.keys.press("a");
    await hands.keys.press("a");
    await hands.keys.type("10,7");
    await hands.page.reload();
    await hands.scan(made[14]);
    await hands.see(".read-part", "none ✓");
    assert.equal(await hands.page.inputValue("#field-1-ia"), "10,7");
});

check("a look-up of 6П6С finds its type, its other names and what is on the shelf, with the mark of memory", async () => {
    await hands.keys.press("Alt+l");
    await hands.waitFocus("lookup-text");
    await hands.keys.type("6П6С");
    await hands.see("#type-head", "6P6S");
    await hands.see(".type header", "10 on the shelf|11 on the shelf");
    await hands.see(".stands", "the same tube");
    await hands.see(".type table", "from memory");
});

check("a chain of stand-ins is told from the type that was asked for, each step once", async () => {
    await hands.page.fill("#lookup-text", "ECC83");
    await hands.see("#type-head", "ECC83");
    await hands.see(".stands .relation.improved", "an improved form of it");
    const chains = await hands.page.$$eval(".chain", (all) => all.map((c) => [...c.querySelectorAll(".printed")].map((p) => p.textContent)));
    assert.ok(chains.length > 0);
    for (const chain of chains) {
        assert.equal(chain[0], "ECC83");
        assert.equal(new Set(chain).size, chain.length, chain.join(" "));
    }
});

check("the shelf is filtered and walked by keys, and Enter opens a tube", async () => {
    await hands.keys.press("Alt+s");
    await hands.waitFocus("shelf-family");
    await hands.keys.type("ECC83");
    await hands.see(".shelf [role=status]", "^1[0-9] tubes, and that is all");
    await hands.keys.press("ArrowDown");
    await hands.keys.press("ArrowDown");
    await hands.keys.press("ArrowUp");
    await hands.keys.press("Enter");
    await hands.see("#tube-head", "ECC83");
    await hands.see(".tube-page", "What it measures now");
});

check("sets are proposed with what is proven, and accepted", async () => {
    await hands.keys.press("Alt+m");
    await hands.waitFocus("sets-family");
    await hands.keys.type("6П6С");
    await hands.keys.press("Tab");
    await hands.keys.press("ArrowUp");
    await hands.keys.press("ArrowUp"); // pairs
    await hands.keys.press("Tab");
    await hands.keys.press("Control+a");
    await hands.keys.type("10");
    await hands.keys.press("Enter");
    await hands.see("#found-head", "[0-9]+ pairs?\\. More than that there cannot be\\.");
    await hands.see(".found", "Proven");
    const pairs = Number((await hands.text("#found-head")).match(/\d+/)[0]);
    await hands.keys.press("Tab");
    await hands.waitFocus("accept");
    await hands.keys.press("Enter");
    await hands.see(".done", "made");
    const sets = (await client.get("/api/sets")).items;
    assert.equal(sets.length, pairs);
    assert.ok(sets.every((s) => s.members.length === 2));
});

check("? opens the sheet of keys and Escape closes it", async () => {
    await hands.keys.press("Alt+b");
    await hands.waitFocus("scan");
    await hands.keys.press("?");
    await hands.page.waitForSelector("dialog[open]");
    await hands.see("dialog", "All keys");
    await hands.keys.press("Escape");
    await hands.page.waitForSelector("dialog[open]", { state: "detached" });
    await hands.waitFocus("scan");
});

const PLACES = [["bench", `bench`, ".partners"], ["look-up", "lookup?text=ECC83", ".type"], ["look-up, not known", "lookup?text=6X9Z", ".hits"],
    ["shelf", "shelf", ".tubes"], ["sets", "sets", ".sets h2"], ["tube", "tube", "#tube-head"]];

for (const dark of [true, false])
    for (const [name, place, there] of PLACES)
        check(`axe finds nothing on ${name}, ${dark ? "dark" : "light"}`, async () => {
            await hands.page.emulateMedia({ colorScheme: dark ? "dark" : "light" });
            const at = { bench: `bench/${made[0]}`, tube: `tube/${made[0]}` }[place] || place;
            await hands.page.goto(`${daemon.url}/#/${at}`);
            await hands.page.waitForSelector(there);
            assert.deepEqual(await violations(hands.page, dark ? undefined : ["color-contrast", "link-in-text-block"]), []);
        });

check("no page said anything on the console but the refusals that were provoked", () => {
    const rest = browser.complaints.filter((c) => !/status of (401|404|409|422)/.test(c));
    assert.deepEqual(rest, []);
});
