// Sends each form once, and again until it arrives: a page works without this, but not where the connection comes and goes.
"use strict";

const AGAIN_AFTER = 3000;
const notice = document.getElementById("notice");
const drafts = window.sessionStorage;
const words = document.getElementById("words");
const draftOf = `words at ${location.pathname}`;

if (words) {
  words.value = drafts.getItem(draftOf) || "";
  words.addEventListener("input", () => drafts.setItem(draftOf, words.value));
}

const sign = document.getElementById("sign");
if (sign) {
  const reading = document.getElementById("reading");
  sign.addEventListener("click", () => {
    reading.value = reading.value.startsWith("-") ? reading.value.slice(1) : `-${reading.value}`;
    reading.focus();
  });
}

async function send(form, filled) {
  for (;;) {
    try {
      const body = form.enctype === "multipart/form-data" ? filled : new URLSearchParams(filled);
      const headers = { Accept: "application/json" };
      const response = await fetch(form.action, { method: "POST", body, headers, credentials: "same-origin" });
      notice.hidden = true;
      return response;
    } catch {
      tell("No connection. Your answer is kept here and is sent as soon as there is one. Somebody in danger? Do not wait for this page: keep away, call for help.");
      await new Promise((go) => setTimeout(go, AGAIN_AFTER));
    }
  }
}

function tell(text) {
  notice.textContent = text;
  notice.hidden = false;
  notice.scrollIntoView();
}

function enable(wanted) {
  document.querySelectorAll("button").forEach((each) => { each.disabled = !wanted; });
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  event.preventDefault();
  const filled = new FormData(form, event.submitter);
  enable(false);
  const response = await send(form, filled);
  if (response.ok) {
    if (form.classList.contains("words")) drafts.removeItem(draftOf);
    location.assign((await response.json()).next);
  } else {
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    tell((page.querySelector("main p") || page.body).textContent.trim());
    enable(true);
  }
});

// A page that comes back from the browser's memory may show a question that was answered since.
window.addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
