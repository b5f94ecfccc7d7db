// SPDX-License-Identifier: MIT
// bench: one tube after the other, by keys alone.  Scan, look, read, and the focus is back in the
// scan field while the save is on its way; what the daemon says of it arrives beside.  Whatever was
// typed of a tube stays with it (work.js) until the daemon has acknowledged it.
import { html, nothing } from "lit-html";
import { live } from "lit-html/directives/live.js";
import { Unreachable, get, query } from "./api.js";
import { cautionsView, hazardsView } from "./caution.js";
import { anodePin } from "./catalogue.js";
import { focusOn, redraw } from "./draw.js";
import { glass } from "./glass.js";
import { gradeReasons, gradeSign } from "./grade.js";
import { lookFirst, lookHas, lookKey, lookView, wordsOf } from "./inspection.js";
import { intakeOpen, intakeView } from "./intake.js";
import { isFigure } from "./keys.js";
import { clock, share, splitReading } from "./number.js";
import { partnersView } from "./partner.js";
import { changeText, endedBy, fieldId, fieldKey, fieldsView, nextField, openQuestions, refuseScan }
    from "./reading.js";
import { session } from "./session.js";
import { isStockNumber, printStockNumber } from "./stockno.js";
import { testerAsk, testerChoice, testerChosen, testerView } from "./tester.js";
import { takeBackView } from "./takeback.js";
import { workKeep, workOpen, workSave, workSaveLook } from "./work.js";

const SIDE = 20; // tubes of this sitting that stay in sight

const bench = {
    step: "scan",  // where the hands are: scan, new, look, read, back
    text: "",      // of the scan field
    told: null,    // {kind: "trouble" | "done", text} under the scan field
    work: null,    // the tube in hand
    hot: null,     // the reading field that has the focus
    sitting: [],   // works, newest first
    asked: 0,      // scans under way: an answer that was overtaken is dropped
};

const SCAN = "#scan";

function toScan(told = null) {
    bench.step = "scan";
    bench.hot = null;
    bench.told = told;
    focusOn(SCAN, { select: true });
}

const trouble = (text) => ({ kind: "trouble", text });

// ---- opening a tube ----------------------------------------------------------------------------

function put(work) {
    bench.sitting = [work, ...bench.sitting.filter((w) => w !== work)].slice(0, SIDE);
    bench.work = work;
}

// The work there is of a tube while something of it is open; a saved one, or one begun with another
// tester, begins anew, and what was typed of it comes back from its draft.
async function workOf(tube) {
    const tester = await testerChosen();
    const there = bench.sitting.find((w) => w.tube.stock_no === tube.stock_no);
    if (there && there.state !== "saved" && (there.tester === tester || there.state !== "open")) return there;
    const work = await workOpen(tube, tester);
    bench.sitting = bench.sitting.filter((w) => w !== there);
    work.saved = there?.saved || null;
    return work;
}

// find: a promise of the tube.  An answer that was overtaken by another scan is dropped.
async function open(find) {
    const asked = ++bench.asked;
    bench.told = null;
    try {
        const tube = await find;
        const work = await workOf(tube);
        if (asked !== bench.asked) return;
        work.told = () => arrived(work);
        work.tube = tube;
        put(work);
        bench.text = "";
        begin(work);
    } catch (e) {
        if (asked !== bench.asked) return;
        toScan(trouble(e instanceof Unreachable
            ? "The daemon does not answer. What you typed is kept here: press Enter to ask again."
            : e.message));
    }
}

const take = (tube) => open(tube);
const scan = (text) => open(get(query("/api/scan", { text })));

// Another tester was chosen: what is open in hand is read with it.
function retest() {
    if (bench.work?.state === "open") take(bench.work.tube);
    else focusOn(SCAN);
}

function begin(work) {
    const asked = openQuestions(work.fields);
    if (asked.length) return toField(work, asked[0].field);
    if (work.look.rows.length && !work.inspected && session.mayStock()) return toLook();
    if (work.fields.length && session.mayTest()) return toField(work, firstEmpty(work));
    toScan();
}

const firstEmpty = (work) => work.fields.find((f) => !f.text) || work.fields[0];

function toLook() {
    bench.step = "look";
    bench.hot = null;
    focusOn("#look");
}

function toField(work, field) {
    bench.step = "read";
    bench.hot = field;
    focusOn(`#${fieldId(field)}`, { select: true });
}

// ---- an answer arrived -------------------------------------------------------------------------

// A question pulls the hands back only when they are free: nothing typed, no other tube opened.
function arrived(work) {
    const free = bench.step === "scan" && bench.work === work &&
        !(document.querySelector(SCAN)?.value || "");
    if (free && (work.state === "asked" || work.state === "refused")) {
        const field = openQuestions(work.fields)[0]?.field || work.fields.find((f) => f.trouble);
        if (field) return toField(work, field);
    }
    redraw();
}

// ---- keys --------------------------------------------------------------------------------------

function scanKey(event) {
    const f = event.target;
    const empty = f.selectionEnd - f.selectionStart === f.value.length; // or all of it is selected
    if (event.key === "Enter" && f.value !== "") {
        event.preventDefault();
        bench.text = f.value;
        scan(bench.text.trim());
    } else if (empty && event.key === "+" && session.mayStock()) {
        event.preventDefault();
        bench.step = "new";
        bench.told = null;
        intakeOpen();
    } else if (empty && event.key === "-" && bench.work?.saved && session.mayTest()) {
        event.preventDefault();
        bench.step = "back";
        focusOn("#take-back-reason", { select: true });
    } else if (empty && event.key === "ArrowDown" && bench.work) {
        event.preventDefault();
        if (bench.work.fields.length) toField(bench.work, firstEmpty(bench.work));
        else toLook();
    } else if (empty && event.key === "ArrowUp" && bench.work?.look.rows.length) {
        event.preventDefault();
        toLook();
    }
}

function lookKeys(event) {
    const work = bench.work;
    if (event.key === "Escape") return leave(event);
    if (isFigure(event)) { // a scan: it belongs into the scan field, and the look stays as it is
        event.preventDefault();
        bench.step = "scan";
        bench.text = event.key;
        focusOn(SCAN);
        return;
    }
    const did = lookKey(work.look, event);
    if (!did) return;
    event.preventDefault();
    workKeep(work);
    if (did === "done") lookDone(work);
    else redraw();
}

function lookDone(work) {
    workSaveLook(work);
    if (work.fields.length && session.mayTest()) toField(work, firstEmpty(work));
    else toScan();
}

function leave(event) {
    event.preventDefault();
    toScan();
}

function save(work) {
    const open = openQuestions(work.fields);
    if (open.length) return toField(work, open[0].field);
    if (!work.fields.some((f) => f.text.trim()))
        return toScan(trouble(`Nothing was read of ${printStockNumber(work.tube.stock_no)}, so there is nothing to save.`));
    if (!workSave(work))
        return toScan({ kind: "quiet", text: `${printStockNumber(work.tube.stock_no)} was saved just so already.` });
    toScan();
}

const on = {
    key(f, event) {
        const work = bench.work;
        if (event.key === "Escape") return leave(event);
        if (event.key === "Enter" && refuseScan(f)) {
            event.preventDefault();
            workKeep(work);
            return toField(work, f);
        }
        const did = fieldKey(f, event);
        if (!did) return;
        event.preventDefault();
        workKeep(work);
        if (did === "save") return save(work);
        if (did === "changed") return redraw();
        if (did === "back") {
            const before = nextField(work.fields, f, -1);
            return before ? toField(work, before) : toLook();
        }
        const after = nextField(work.fields, f);
        const asked = openQuestions(work.fields);
        if (event.key !== "ArrowDown" && work.state === "asked" && !asked.length) return save(work);
        if (work.state === "asked" && asked.length && event.key === "Enter")
            return toField(work, asked[0].field);
        if (after) return toField(work, after);
        if (event.key === "Enter" || f.steps) save(work);
    },
    type(f, text) {
        changeText(f, text);
        workKeep(bench.work);
        redraw();
    },
    step(f, word) {
        changeText(f, word);
        workKeep(bench.work);
        redraw();
    },
    focus(f) {
        if (bench.hot === f && bench.step === "read") return;
        bench.step = "read";
        bench.hot = f;
        redraw();
    },
};

// ---- how it looks ------------------------------------------------------------------------------

function scanView() {
    const told = bench.told;
    return html`<section class="scan" aria-label="Scan">
        <label for="scan">Stock number or outside mark</label>
        <input id="scan" type="text" autocomplete="off" autocapitalize="off" spellcheck="false"
            .value=${live(bench.text)} aria-describedby="scan-told scan-keys"
            @input=${(e) => { bench.text = e.target.value; }}
            @focus=${() => { if (bench.step !== "scan") { bench.step = "scan"; bench.hot = null; redraw(); } }}
            @keydown=${scanKey}>
        <p id="scan-told" class=${told?.kind || "quiet"} role="status">${told ? told.text : ""}</p>
        <p id="scan-keys" class="keys">
            <span><kbd>Enter</kbd> open</span>
            ${session.mayStock() ? html`<span><kbd>+</kbd> new tube</span>` : nothing}
            ${bench.work?.saved ? html`<span><kbd>-</kbd> take the last save back</span>` : nothing}
            ${bench.work?.fields.length ? html`<span><kbd>↓</kbd> back to its readings</span>` : nothing}
            ${bench.work?.look.rows.length ? html`<span><kbd>↑</kbd> to its look</span>` : nothing}
            <span><kbd>?</kbd> all keys</span></p>
    </section>`;
}

// What each section's plate shows: the share of nominal of its strength, or else of its first figure.
function platesOf(work) {
    const plates = [];
    for (let s = 1; s <= (work.type?.sections || 1); s++) {
        const fields = work.fields.filter((f) => f.section === s && f.nominal !== "" && f.comparable);
        const f = fields.find((x) => ["gm", "emission", "anode"].includes(x.quantity)) || fields[0];
        const { typed, unit } = f ? splitReading(f.text, f.unit) : {};
        const stood = work.standing.find((v) => v.section === s && v.quantity === f?.quantity);
        plates.push({
            share: f && f.text && unit === f.unit ? share(typed, f.nominal)
                : stood ? share(stood.value, f.nominal) : null,
            hot: bench.hot?.section === s, pin: anodePin(work.type, s),
        });
    }
    return plates;
}

function glassView(work) {
    const plates = platesOf(work);
    const read = plates.filter((p) => p.share !== null);
    const words = read.length
        ? `Drawing of the tube: ${plates.map((p, i) => `section ${i + 1} ${p.share === null ? "not read" : `at ${p.share} % of nominal`}`).join(", ")}`
        : "Drawing of the tube, nothing read yet";
    return glass({
        sections: plates, words, flash: lookFirst(work.look, "getter"),
        cracked: lookHas(work.look, "glass", "cracked"),
    });
}

function identityView(work) {
    const t = work.tube;
    return html`<header class="identity">
        <h2><span class="printed">${t.printed}</span>
            <a class="no" href=${`#/tube/${t.stock_no}`}>${printStockNumber(t.stock_no)}</a></h2>
        <p>${[t.maker, t.type !== t.printed ? `type ${t.type}` : "",
            t.family && t.family !== t.type ? `family ${t.family}` : "", t.date]
            .filter(Boolean).join(" · ")}</p>
        <p class="quiet">${[t.lot && `lot ${t.lot}`, t.bin && `bin ${t.bin}`, t.state,
            t.mark && `mark ${t.mark}`].filter(Boolean).join(" · ")}</p>
        ${hazardsView(work.type)}
    </header>`;
}

function lookPart(work) {
    if (!work.look.rows.length) return nothing;
    const here = bench.step === "look";
    const seen = work.look.rows.filter((r) => r.chosen.size);
    return html`<section id="look" class="look-part" tabindex=${here ? "0" : "-1"} aria-label="Look"
            @keydown=${here ? lookKeys : nothing}>
        <h3>Look ${work.inspected && !here ? html`<span class="tag">kept</span>` : nothing}</h3>
        ${here ? lookView(work.look, true, () => { workKeep(work); focusOn("#look"); })
            : html`<p class="seen-all">${seen.length
                ? seen.map((r) => html`<span><i>${r.words}</i> ${wordsOf(r)}</span> `)
                : html`<span class="quiet">${work.inspected ? work.inspected : "not looked at"}</span>`}</p>`}
        ${here ? html`<p class="keys"><span><kbd>letter</kbd> choose, next</span>
            <span><kbd>Shift</kbd>+<kbd>letter</kbd> several</span>
            <span><kbd>Space</kbd> not looked at</span><span><kbd>Backspace</kbd> one back</span>
            <span><kbd>Enter</kbd> on to the readings</span></p>` : nothing}
    </section>`;
}

function readPart(work) {
    if (!work.point)
        return html`<section class="read-part"><h3>Readings</h3><p class="told">${work.unreadable}</p></section>`;
    const end = endedBy(work.fields);
    return html`<section class="read-part" aria-label="Readings">
        <h3>Readings <span class="quiet">at ${work.point.title}</span>
            ${work.point.memory ? html`<span class="memory">from memory</span>` : nothing}</h3>
        ${work.points.length > 1 ? html`<label class="point-choice">Test point
            <select @change=${(e) => { work.choosePoint(e.target.value); redraw(); }}>
            ${work.points.map((p) => html`<option value=${p.code} ?selected=${p === work.point}>${p.title}</option>`)}
            </select></label>` : nothing}
        ${fieldsView(work.fields, work.type, on)}
        ${end ? html`<p class="told"><strong>The ${end} test ends it.</strong> Heat and volts stay off; <kbd>Enter</kbd> saves.</p>` : nothing}
        <p class="keys"><span><kbd>Enter</kbd> next; on the last, save</span>
            <span><kbd>↑</kbd> <kbd>↓</kbd> move</span><span><kbd>Ctrl</kbd>+<kbd>Enter</kbd> save now</span>
            <span><kbd>Esc</kbd> leave, entries stay</span></p>
    </section>`;
}

const STATES = {
    open: ["○", "open"], sending: ["↑", "being saved"], waits: ["⏸", "waits for the daemon"],
    asked: ["?", "asks a question"], refused: ["!", "was refused"], saved: ["✓", "saved"],
};

function stateView(work) {
    const [sign, words] = STATES[work.state];
    return html`<p class="state ${work.state}" role="status"><b aria-hidden="true">${sign}</b>
        ${printStockNumber(work.tube.stock_no)} ${words}${work.state === "waits"
            ? html`. It is kept in this browser and sent again by itself.` : nothing}
        ${work.state === "refused" ? html`: ${work.why}` : nothing}</p>`;
}

function outcomeView(work) {
    if (!work) return html`<aside class="outcome" aria-label="Outcome"></aside>`;
    const g = work.grading;
    return html`<aside class="outcome" aria-label="Outcome">
        ${stateView(work)}
        ${g ? html`<section class="graded"><h3 class="big">${gradeSign(g.grade)} <span>${g.grade || "no grade can be given"}</span>
            ${g.borderline ? html`<span class="tag">borderline</span>` : nothing}</h3>
            <p class="quiet">by scheme ${g.scheme}</p>${gradeReasons(g)}</section>`
        : html`<p class="quiet">Its grade appears here when its readings are saved.</p>`}
        ${partnersView(work.partners)}
    </aside>`;
}

function sittingView() {
    return html`<aside class="sitting" aria-labelledby="sitting-head">
        <h2 id="sitting-head">This sitting</h2>
        ${testerView(retest)}
        ${bench.sitting.length ? html`<ol>${bench.sitting.map((w) => html`
            <li class=${w === bench.work ? "here" : ""}>
                <button type="button" @click=${() => { put(w); begin(w); }}>
                    <span class="no">${printStockNumber(w.tube.stock_no)}</span>
                    <span class="what">${w.tube.printed}</span>
                    <span class="got">${w.grading ? html`${gradeSign(w.grading.grade)} ${w.grading.grade || "no grade"}`
                        : html`${STATES[w.state][0]} ${STATES[w.state][1]}`}
                        ${["asked", "waits", "refused"].includes(w.state) && w.grading
                            ? html`<b>${STATES[w.state][1]}</b>` : nothing}</span>
                    <span class="quiet">${clock(w.since)}</span>
                </button></li>`)}</ol>`
        : html`<p class="quiet">No tube yet. Scan one, or press <kbd>+</kbd> for a new one.</p>`}
    </aside>`;
}

function workView() {
    const work = bench.work;
    if (bench.step === "new")
        return intakeView({ taken: take, left: () => toScan() });
    if (bench.step === "back")
        return takeBackView(work, { left: toScan });
    if (!work)
        return html`<section class="empty">${glass({ sections: [{ share: null }, { share: null }], words: "An empty tube" })}
            <p>Scan the tube in your hand.</p>
            <p class="quiet">Every step has its keys beside it. The mouse can stay where it is.</p></section>`;
    return html`<article class="tube-work">
        <div class="drawn">${glassView(work)}</div>
        <div class="steps-of">${identityView(work)}${lookPart(work)}${bench.step === "look" && work.fields.length ? nothing : readPart(work)}</div>
    </article>`;
}

export const page = {
    title: "Bench",
    async enter({ rest }) {
        await testerChoice();
        toScan();
        if (rest && isStockNumber(rest)) await scan(rest);
    },
    view: () => html`<div class="bench">
        <h1 class="unseen">Bench</h1>
        ${sittingView()}
        <div class="hand">${scanView()}${testerAsk(retest)}${workView()}</div>
        ${outcomeView(bench.work)}
        ${cautionsView()}
    </div>`,
};
