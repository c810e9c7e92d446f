// Says that something is being worked on, once that takes longer than a second, and keeps a form from being sent twice.
// Every page works without it.
"use strict";
(() => {
  const LATER = 1000;
  const SENT = "Being worked on. This page changes by itself when it is done; nothing need be pressed again.";
  const FILE = "The file is being made. Your browser says when it arrives.";
  const FILE_SHOWN = 20000;
  let timer = 0;

  const place = () => document.getElementById("busy");

  const say = (words) => {
    place().textContent = words;
  };

  const rest = () => {
    clearTimeout(timer);
    say("");
    for (const form of document.querySelectorAll("form[aria-busy]")) {
      form.removeAttribute("aria-busy");
      for (const button of form.querySelectorAll("button[disabled]")) button.disabled = false;
    }
  };

  // A file leaves the page where it is, so it can't be known when it has come.
  const fileAsked = () => {
    rest();
    timer = setTimeout(() => {
      say(FILE);
      timer = setTimeout(rest, FILE_SHOWN);
    }, LATER);
  };

  document.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return;
    if (event.submitter && event.submitter.name === "download") return fileAsked();
    const form = event.target;
    rest();
    form.setAttribute("aria-busy", "true");
    // Afterwards, so that the pressed button's own value is still sent.
    setTimeout(() => {
      for (const button of form.querySelectorAll("button:not([disabled])")) button.disabled = true;
    }, 0);
    timer = setTimeout(say, LATER, SENT);
  });

  document.addEventListener("click", (event) => {
    if (event.target.closest("a[download]")) fileAsked();
  });

  // Somebody who comes back with the browser's own button finds the page at rest.
  window.addEventListener("pageshow", rest);
})();
