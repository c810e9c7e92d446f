// Says that something is being worked on, once that takes longer than a second, and keeps a form from being sent twice.
// Every page works without it.
"use strict";
(() => {
  const LATER = 1000;
  const SENT = "Being worked on. This page changes by itself when it is done; nothing need be pressed again.";
  const FILE = "The file is being made. Your browser says when it arrives.";
  const PAGE = "The page is being made. It appears by itself.";
  const SHOWN = 20000;
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

  // A file leaves the page where it is, and a page may be called off, so it can't be known when either is over.
  const asked = (words) => {
    rest();
    timer = setTimeout(() => {
      say(words);
      timer = setTimeout(rest, SHOWN);
    }, LATER);
  };

  // Whether a link leads to another page in this window.
  const leaves = (link, event) =>
    event.button === 0 && !(event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) && !link.target
    && link.origin === location.origin && link.href.split("#")[0] !== location.href.split("#")[0];

  document.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return;
    if (event.submitter && event.submitter.name === "download") return asked(FILE);
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
    const link = event.target.closest("a[href]");
    if (event.defaultPrevented || !link) return;
    if (link.hasAttribute("download")) asked(FILE);
    else if (leaves(link, event)) asked(PAGE);
  });

  // Somebody who comes back with the browser's own button finds the page at rest.
  window.addEventListener("pageshow", rest);
})();
