// Everything works without this file; it only saves steps.
"use strict";
// Leaving quickly: the page before is not to be found with the Back button.
for (const form of document.querySelectorAll("form.leave")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    document.body.replaceChildren();
    fetch("/leave", { method: "POST", body: new URLSearchParams(), redirect: "manual", keepalive: true })
      .finally(() => window.location.replace("/blank"));
  });
}
