// SPDX-License-Identifier: MIT
// work: one tube in hand at the bench: its look, its fields, what was saved of it and what came of
// it.  Works live on after the hands have gone to the next tube, so that answers find them.
import { Unreachable, Refusal, get, getOr } from "./api.js";
import { typeOf } from "./catalogue.js";
import { lookDraft, lookFindings, lookNew } from "./inspection.js";
import { deliver } from "./outbox.js";
import { askAt, fieldsNew, pointsFor, readingDraft, rulesConfirmed, sectionsToSend } from "./reading.js";
import { session } from "./session.js";
import { printStockNumber } from "./stockno.js";
import { partnersOf } from "./partner.js";
import { aspects, quantities } from "./vocabulary.js";

const DRAFT = "quadrille.draft.";

// ---- what was typed, until it is acknowledged ---------------------------------------------------

const place = (work) => `${DRAFT}${session.name()}.${work.tube.stock_no}`;

function draftOf(work) {
    try {
        return JSON.parse(localStorage.getItem(place(work))) || {};
    } catch {
        return {};
    }
}

const lookText = (work) => JSON.stringify(lookDraft(work.look));

export function workKeep(work) {
    const draft = {
        look: lookText(work) === work.lookSent ? {} : lookDraft(work.look), fields: readingDraft(work.fields),
    };
    try {
        localStorage.setItem(place(work), JSON.stringify(draft));
    } catch {
        // It is still in the page.
    }
}

const forgetDraft = (work) => localStorage.removeItem(place(work));

// ---- opening -----------------------------------------------------------------------------------

const path = (work, what) => `/api/tubes/${work.tube.stock_no}/${what}`;

function lookWords(inspection) {
    return (inspection?.findings || []).map((f) => `${f.aspect_words || f.aspect}: ${f.words || f.finding}`)
        .join("; ");
}

function usable(work) {
    if (!work.tester) return "No tester is chosen: add one above, and the readings start here.";
    if (!work.type) return `The catalogue does not know ${work.tube.type} yet, so it has no test point.`;
    if (!work.points.length)
        return `${work.tube.type} has no published test point in the catalogue: until its owner enters one, it can be looked at but not read.`;
    return "";
}

function setPoint(work, point, words, draft) {
    work.point = point;
    work.fields = fieldsNew({ type: work.type, point, tester: work.tester, quantities: words, draft });
}

export async function workOpen(tube, tester) {
    const work = {
        tube, tester, state: "open", since: new Date(), why: "", told: () => {},
        type: null, points: [], point: null, fields: [], standing: [], look: null,
        inspected: "", lookSent: "", sent: "", saved: null, grading: null, partners: null,
    };
    const draft = draftOf(work);
    const [words, all, type, looks, values] = await Promise.all([
        quantities(), aspects(), typeOf(tube.type), get(path(work, "inspections")),
        get(path(work, "readings"))]);
    work.type = type;
    work.look = lookNew(all, draft.look);
    work.inspected = lookWords(looks.items[0]);
    work.standing = values.standing;
    work.points = pointsFor(type);
    work.unreadable = usable(work);
    if (!work.unreadable) setPoint(work, work.points[0], words, draft.fields);
    work.choosePoint = (code) =>
        setPoint(work, work.points.find((p) => p.code === code), words, readingDraft(work.fields));
    if (values.standing.length || tube.grade) refresh(work);
    return work;
}

// Grade and partners, after a save or when the tube is opened again.
async function refresh(work) {
    try {
        const [gradings, values] = await Promise.all([
            getOr({ items: [] }, path(work, "gradings")), get(path(work, "readings"))]);
        work.grading = gradings.items[0] || null;
        work.standing = values.standing;
        work.told();
        work.partners = values.standing.length ? await partnersOf(work.tube.stock_no) : null;
    } catch (e) {
        work.why = e.message;
    }
    work.told();
}

// ---- saving ------------------------------------------------------------------------------------

export function workSaveLook(work) {
    const findings = lookFindings(work.look);
    if (!findings.length || lookText(work) === work.lookSent) return;
    work.lookSent = lookText(work);
    work.inspected = "looked at";
    const label = `the look of ${printStockNumber(work.tube.stock_no)}`;
    deliver(path(work, "inspections"), { findings }, label, (e) => e && lookRefused(work, e))
        .then(() => { workKeep(work); return refresh(work); }, (e) => lookRefused(work, e));
}

function lookRefused(work, e) {
    if (e instanceof Refusal && e.status < 500 && e.status !== 401) {
        work.lookSent = "";
        work.inspected = "";
        work.state = "refused";
        work.why = e.message;
    }
    work.told();
}

// false: just this was saved already, and it is not sent again.
export function workSave(work) {
    const body = {
        tester: work.tester.code, test_point: work.point.code,
        sections: sectionsToSend(work.fields),
    };
    const confirm = rulesConfirmed(work.fields);
    if (confirm.length) body.confirm = confirm;
    const sent = JSON.stringify(body.sections);
    if (work.state === "sending" || (work.state === "saved" && sent === work.sent)) return false;
    work.sent = sent;
    work.state = "sending";
    work.why = "";
    const label = `the readings of ${printStockNumber(work.tube.stock_no)}`;
    deliver(path(work, "readings"), body, label, (e, data) => e ? failed(work, e) : landed(work, data))
        .then((data) => landed(work, data), (e) => failed(work, e));
    return true;
}

function landed(work, saved) {
    work.state = "saved";
    work.saved = saved;
    work.standing = saved.standing;
    for (const f of work.fields) f.questions = [];
    forgetDraft(work);
    work.told();
    refresh(work);
}

function failed(work, e) {
    if (e instanceof Refusal && e.questions) {
        work.state = "asked";
        askAt(work.fields, e.questions);
    } else if (e instanceof Unreachable || e.status >= 500 || e.status === 401 || e.status === 429) {
        work.state = "waits";
    } else {
        work.state = "refused";
        work.why = e.message;
        const f = work.fields.find((x) => x.quantity === e.field && x.text) ||
            work.fields.find((x) => x.text);
        if (f) f.trouble = e.message;
    }
    work.told();
}
