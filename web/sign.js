// SPDX-License-Identifier: MIT
// sign: the two doors: making the first owner, and signing in.
import { html, nothing } from "lit-html";
import { focusOn, redraw } from "./draw.js";
import { glass } from "./glass.js";
import { sessionSetUp, sessionSignIn } from "./session.js";

const LEAST = 12; // bytes of a password
let trouble = null, busy = false, values = {};

const field = (name, label, more = {}) => html`<div class="field">
    <label for=${`sign-${name}`}>${label}</label>
    <input id=${`sign-${name}`} name=${name} required type=${more.type || "text"}
        autocomplete=${more.complete || "off"} autocapitalize="off" spellcheck="false"
        aria-describedby=${`sign-${name}-help`} aria-invalid=${trouble?.field === name ? "true" : nothing}
        @input=${(e) => { values[name] = e.target.value; }}>
    <p id=${`sign-${name}-help`} class=${trouble?.field === name ? "trouble" : "quiet"}
        role=${trouble?.field === name ? "alert" : nothing}>${trouble?.field === name ? trouble.message : more.help || ""}</p>
</div>`;

async function go(event, act, first, done) {
    event.preventDefault();
    if (busy) return;
    busy = true;
    trouble = null;
    redraw();
    try {
        await act();
        values = {};
        busy = false;
        return done();
    } catch (e) {
        trouble = e;
        busy = false;
        focusOn(`#sign-${e.field || first}`);
    }
}

const loose = (fields) => trouble && !fields.includes(trouble.field)
    ? html`<p class="trouble" role="alert">${trouble.message}</p>` : nothing;

const door = (title, body) => html`<main class="door">
    ${glass({ sections: [{ share: 82, hot: true }, { share: 80, hot: true }], flash: "full", words: "A tube on heat" })}
    <div><p class="mark">Quadrille</p><h1>${title}</h1>${body}</div></main>`;

function checkSetUp() {
    if (values.password !== values.again)
        throw Object.assign(new Error("The two passwords differ."), { field: "again" });
    if (new TextEncoder().encode(values.password).length < LEAST)
        throw Object.assign(new Error(`A password has at least ${LEAST} characters; nothing else is asked of it.`), { field: "password" });
    return sessionSetUp({
        token: values.token.trim(), name: values.name.trim(), password: values.password,
        ...(values.shown?.trim() ? { shown: values.shown.trim() } : {}),
    });
}

export const setUpView = (done) => door("Make the owner's account", html`
    <p>This happens once. The token was printed where the daemon was started, and is another after each start.</p>
    <form @submit=${(e) => go(e, checkSetUp, "token", done)}>
        ${field("token", "Set-up token")}
        ${field("name", "Name to sign in with", { complete: "username", help: "letters a to z, digits, '.', '-', '_'" })}
        ${field("password", "Password", { type: "password", complete: "new-password", help: `at least ${LEAST} characters; a few words are best` })}
        ${field("again", "The password again", { type: "password", complete: "new-password" })}
        ${loose(["token", "name", "password", "again"])}
        <p><button ?disabled=${busy}>Make the account and sign in</button></p>
    </form>`);

export const signInView = (done, why) => door("Sign in", html`
    ${why ? html`<p class="told" role="status">${why}</p>` : nothing}
    <form @submit=${(e) => go(e, () => sessionSignIn(values.name.trim(), values.password), "name", done)}>
        ${field("name", "Name", { complete: "username" })}
        ${field("password", "Password", { type: "password", complete: "current-password" })}
        ${loose(["name", "password"])}
        <p><button ?disabled=${busy}>Sign in</button></p>
    </form>`);
