"""The page on which a phone gives its code: the only one that needs no cookie, and that only while sharing."""

from __future__ import annotations

_PAGE = """<!doctype html>
<html lang="en">
  <head>
    <meta charset="utf-8">
    <meta name="viewport" content="width=device-width, initial-scale=1">
    <meta name="color-scheme" content="light dark">
    <title>Sidelong: join</title>
    <link rel="stylesheet" href="/join.css">
  </head>
  <body>
    <main>
      <h1>Join the desk</h1>
      <form id="form">
        <label for="code">Code shown on the desk</label>
        <input id="code" name="code" autocomplete="off" autocapitalize="characters" spellcheck="false" required>
        <label for="name">What this device is called</label>
        <input id="name" name="name" maxlength="60" autocomplete="off" placeholder="phone">
        <button type="submit">Join</button>
      </form>
      <p id="said" role="status" aria-live="polite"></p>
    </main>
    <script src="/join.js"></script>
  </body>
</html>
"""
_STYLE = """:root { color-scheme: light dark; --paper: #fbfaf6; --ink: #1b1a17; }
@media (prefers-color-scheme: dark) { :root { --paper: #171614; --ink: #f3efe6; } }
body { margin: 0; background: var(--paper); color: var(--ink); font: 1.25rem/1.5 system-ui, sans-serif; }
main { max-width: 26rem; margin: 0 auto; padding: 2rem 1.25rem; }
h1 { font-size: 1.75rem; }
label { display: block; margin-top: 1rem; }
input, button { font: inherit; box-sizing: border-box; width: 100%; min-height: 3rem; padding: 0.5rem 0.75rem;
  color: inherit; background: transparent; border: 2px solid currentColor; border-radius: 0; }
#code { font-size: 1.5rem; letter-spacing: 0.15em; text-transform: uppercase; }
button { margin-top: 1.5rem; background: var(--ink); color: var(--paper); font-weight: 600; }
:focus-visible { outline: 3px solid #0a63c9; outline-offset: 2px; }
"""
_SCRIPT = """"use strict";
const form = document.getElementById("form");
const said = document.getElementById("said");
const code = document.getElementById("code");
const name = document.getElementById("name");

async function join() {
  said.textContent = "Joining";
  try {
    const answer = await fetch("/api/join", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ code: code.value, name: name.value || "phone" }),
    });
    if (answer.ok) {
      location.replace("/#card");
      return;
    }
    const told = await answer.json();
    said.textContent = told.error.words;
  } catch {
    said.textContent = "The desk does not answer. Is this phone on the same network, and sharing still on?";
  }
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  join();
});
const given = location.hash.slice(1);
if (given) {
  history.replaceState(null, "", "/join");
  code.value = given;
  join();
}
"""
JOIN_FILES: dict[str, tuple[str, str]] = {
    "/join": ("text/html; charset=utf-8", _PAGE),
    "/join.css": ("text/css; charset=utf-8", _STYLE),
    "/join.js": ("text/javascript; charset=utf-8", _SCRIPT),
}
"""Path -> kind and text."""
