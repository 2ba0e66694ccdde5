// Pages work without this script. With it, a hand scanner types into the code field from anywhere, the page's own
// camera can scan where the browser is able to, lists renew themselves, and nothing is sent twice by a double tap.
"use strict";

const code = document.getElementById("code");

function open(text) {
  code.value = text;
  code.form.requestSubmit();
}

// A hand scanner is a keyboard: what it types goes to the code field unless somebody is filling in a field. A box, a
// choice or a button that was tapped last is no such field: there, the scanner's Enter would send the form it is in.
const FIELDS = "textarea, select, input:not([type=checkbox], [type=radio], [type=file], [type=submit])";
document.addEventListener("keydown", (event) => {
  const busy = document.activeElement && document.activeElement.matches(FIELDS);
  const typed = event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.metaKey && !event.altKey;
  if (code && !busy && typed) code.focus();
});

// Thick gloves tap twice.
document.addEventListener("submit", (event) => {
  if (event.target.dataset.sent) event.preventDefault();
  event.target.dataset.sent = "yes";
  setTimeout(() => delete event.target.dataset.sent, 4000);
});
window.addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});

// Lists renew themselves: at once while nobody types, else on a tap.
const live = document.querySelector("[data-live]");
if (live) {
  const look = async () => {
    if (document.hidden) return;
    try {
      const answer = await fetch(live.dataset.live, { cache: "no-cache" });
      if (!answer.ok || (await answer.text()).trim() === live.dataset.last) return;
    } catch {
      return; // the network is away: the page stays as it is
    }
    const typing = [...document.querySelectorAll("main input:not([type=hidden]), main textarea")].some(
      (field) => field.value !== field.defaultValue,
    );
    if (typing) document.getElementById("news").hidden = false;
    else location.reload();
  };
  document.getElementById("news").addEventListener("click", () => location.reload());
  setInterval(look, 5000);
  document.addEventListener("visibilitychange", look);
}

// The page's own camera, where the browser can read symbols.
const camera = document.getElementById("camera");
if (camera && code && "BarcodeDetector" in window && navigator.mediaDevices) {
  const film = document.getElementById("film");
  let stream = null;
  const stop = () => {
    for (const track of stream ? stream.getTracks() : []) track.stop();
    stream = null;
    film.hidden = true;
  };
  camera.hidden = false;
  camera.addEventListener("click", async () => {
    if (stream) return stop();
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    } catch {
      camera.textContent = camera.dataset.refused;
      return undefined;
    }
    film.srcObject = stream;
    film.hidden = false;
    await film.play();
    const detector = new BarcodeDetector({ formats: ["qr_code"] });
    while (stream) {
      const found = await detector.detect(film).catch(() => []);
      if (found.length) {
        stop();
        open(found[0].rawValue);
      }
      await new Promise((ready) => setTimeout(ready, 150));
    }
    return undefined;
  });
}
