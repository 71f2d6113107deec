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
// Sets are kept as they are ticked, without a new page; where that fails the form is sent as it is.
for (const form of document.querySelectorAll("form.sets")) {
  const told = form.querySelector(".kept");
  form.addEventListener("change", (event) => {
    if (event.target.type !== "checkbox" || form.querySelector('[name="sure"]')) return;
    if (!form.querySelector('[name="done"]:checked')) return;
    told.textContent = "";
    fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) })
      .then((answer) => { if (answer.ok) told.textContent = form.dataset.kept; else form.submit(); })
      .catch(() => form.submit());
  });
}
// A rest counts down where it is told.
for (const rest of document.querySelectorAll(".rest[data-seconds]")) {
  const button = document.createElement("button");
  const over = document.createElement("span");
  let timer = 0;
  button.type = "button";
  button.textContent = rest.dataset.start;
  over.setAttribute("role", "status");
  button.addEventListener("click", () => {
    const end = Date.now() + Number(rest.dataset.seconds) * 1000;
    window.clearInterval(timer);
    over.textContent = "";
    timer = window.setInterval(() => {
      const left = Math.ceil((end - Date.now()) / 1000);
      button.textContent = left > 0 ? `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}` : rest.dataset.start;
      if (left <= 0) { window.clearInterval(timer); over.textContent = rest.dataset.over; }
    }, 250);
  });
  rest.append(" ", button, " ", over);
}
// The place of this machine is most likely the one meant.
const zone = document.querySelector('select[name="zone"]');
if (zone) {
  const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if ([...zone.options].some((option) => option.value === here)) zone.value = here;
}
