// SPDX-License-Identifier: MIT
// app: which page is shown, and what is around every page.
import { html, render, nothing } from "lit-html";
import { whenSessionLost } from "./api.js";
import { page as bench } from "./bench.js";
import { drawWith, focusOn, redraw } from "./draw.js";
import { helpToggle, helpView } from "./help.js";
import { page as lookup } from "./lookup.js";
import { counted } from "./number.js";
import { outboxStart, refused, sendAgain, waiting, waitingOfOthers, whenOutbox } from "./outbox.js";
import { session, sessionLoad, sessionSignOut } from "./session.js";
import { page as sets } from "./sets.js";
import { page as shelf } from "./shelf.js";
import { setUpView, signInView } from "./sign.js";
import { themeApply, themeKind, themeNext } from "./theme.js";
import { page as tube } from "./tube.js";

const PAGES = { bench, lookup, shelf, sets, tube };
const NAV = [["bench", "Bench", "B"], ["lookup", "Look-up", "L"], ["shelf", "Shelf", "S"], ["sets", "Sets", "M"]];

let door = "wait"; // wait, setup, sign-in, in, or away (the daemon does not answer)
let why = "";
let here = { page: bench, rest: "", fields: new URLSearchParams() };

// ---- where we are ------------------------------------------------------------------------------

function readPlace() {
    const [path, search = ""] = location.hash.replace(/^#\/?/, "").split("?");
    const [name, ...rest] = path.split("/");
    return { page: PAGES[name] || bench, rest: decodeURIComponent(rest.join("/")), fields: new URLSearchParams(search) };
}

async function enter() {
    here = readPlace();
    document.title = `${here.page.title} · Quadrille`;
    redraw();
    try {
        await here.page.enter(here);
    } catch (e) {
        failed(e);
    }
}

const go = (name) => {
    if (location.hash === `#/${name}`) enter();
    else location.hash = `#/${name}`;
};

let lastFailure = "";
function failed(e) {
    lastFailure = e.message;
    redraw();
}

async function open() {
    try {
        door = await sessionLoad();
        lastFailure = "";
    } catch {
        door = "away";
    }
    if (door !== "in") return focusOn(door === "setup" ? "#sign-token" : "#sign-name");
    why = "";
    outboxStart();
    await enter();
}

// The page is kept as it is, so that what was typed is there again after signing in.
whenSessionLost(() => {
    if (door !== "in") return;
    door = "sign-in";
    why = "Your session has ended. What you typed is kept: sign in again and it is there.";
    focusOn("#sign-name");
});

async function signOut() {
    try {
        await sessionSignOut();
        door = "sign-in";
        why = "You are signed out.";
        focusOn("#sign-name");
    } catch (e) {
        failed(e);
    }
}

// ---- keys that work everywhere -----------------------------------------------------------------

const inField = (e) => e.target.matches?.("input:not([type=checkbox]), textarea, select") && e.target.value !== "";

function everywhere(e) {
    if (door !== "in") return;
    const alt = e.altKey && !e.ctrlKey && !e.metaKey;
    const to = alt && NAV.find(([, , key]) => e.code === `Key${key}`);
    if (to) go(to[0]);
    else if (alt && e.code === "KeyR") sendAgain();
    else if (alt && e.code === "KeyD") theme();
    else if (e.key === "F1" || (e.key === "?" && !inField(e))) helpToggle();
    else return;
    e.preventDefault();
}

function theme() {
    themeNext();
    redraw();
}

// ---- around every page -------------------------------------------------------------------------

function waitingView() {
    const n = waiting().length, others = waitingOfOthers();
    return html`<div class="waiting-room" role="status">
        ${n ? html`<p class="waits"><b>⏸ ${counted(n, "save")} not yet at the daemon</b>
            ${waiting().slice(0, 3).map((w) => w.label).join(", ")}. Kept in this browser, sent again every few seconds.
            <button type="button" @click=${sendAgain}>Send now <kbd>Alt</kbd>+<kbd>R</kbd></button></p>` : nothing}
        ${others ? html`<p class="quiet">${counted(others, "save")} of somebody else ${others === 1 ? "waits" : "wait"} in this browser until they sign in.</p>` : nothing}
        ${refused.map((r) => html`<p class="trouble">! ${r.label}: ${r.text}
            <button type="button" class="plain" @click=${() => { refused.splice(refused.indexOf(r), 1); redraw(); }}>seen</button></p>`)}
        ${lastFailure ? html`<p class="trouble">${lastFailure} <button type="button" class="plain"
            @click=${() => { lastFailure = ""; enter(); }}>try again</button></p>` : nothing}
    </div>`;
}

const frameView = () => html`
    <a class="skip" href="#main" @click=${(e) => { e.preventDefault(); document.querySelector("#main").focus(); }}>Skip to the page</a>
    <header class="top">
        <p class="mark">Quadrille</p>
        <nav aria-label="Pages"><ul>${NAV.map(([name, title, key]) => html`<li>
            <a href=${`#/${name}`} aria-current=${PAGES[name] === here.page ? "page" : nothing}
                aria-keyshortcuts=${`Alt+${key}`}>${title} <kbd>Alt ${key}</kbd></a></li>`)}</ul></nav>
        <p class="who"><button type="button" class="plain" @click=${theme}>${{ system: "◐", dark: "●", light: "○" }[themeKind()]} ${themeKind()}</button>
            <button type="button" class="plain" @click=${helpToggle}><kbd>?</kbd> keys</button>
            <span class="name">${session.shown()}, ${session.role()}</span>
            <button type="button" class="plain" @click=${signOut}>sign out</button></p>
    </header>
    ${waitingView()}
    <main id="main" tabindex="-1">${here.page.view()}</main>
    ${helpView()}`;

const awayView = () => html`<main class="door"><div><p class="mark">Quadrille</p><h1>The daemon does not answer</h1>
    <p>It is stopped, or the way to it is broken. Nothing that was typed here is lost.</p>
    <p><button type="button" @click=${open}>Try again</button></p></div></main>`;

const VIEWS = {
    wait: () => html`<main class="door"><p class="quiet">Opening the bench…</p></main>`,
    away: awayView,
    setup: () => setUpView(open),
    "sign-in": () => signInView(open, why),
    in: frameView,
};

const root = document.querySelector("#app");
root.replaceChildren();
drawWith(() => {
    render(VIEWS[door](), root);
    if (door === "in") here.page.drawn?.();
});
themeApply();
whenOutbox(redraw);
addEventListener("keydown", everywhere);
addEventListener("hashchange", () => { if (door === "in") enter(); });
open();
