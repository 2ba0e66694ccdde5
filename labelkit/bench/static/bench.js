// Pages work without this script. With it, a hand scanner opens a card from anywhere, the page's own
// camera can scan where the browser is able to, lists renew themselves, and nothing is sent twice by a double tap.
"use strict";

const code = document.getElementById("code");

// A code that was refused is mended where it stands, or typed over: all of it is marked, for a scanner has no other way.
if (code && code.dataset.typed) {
  code.value = code.dataset.typed;
  code.select();
}

function open(text) {
  if (!code) return location.assign(SIGN_IN.test(text) ? "/sign-in" : `/?code=${encodeURIComponent(text)}`);
  code.value = text;
  return code.form.requestSubmit();
}

// A hand scanner is a keyboard: what it types goes to the code field unless somebody is filling in a field. A box, a
// choice or a button that was tapped last is no such field: there, the scanner's Enter would send the form it is in.
const FIELDS = "textarea, select, input:not([type=checkbox], [type=radio], [type=file], [type=submit])";
document.addEventListener("keydown", (event) => {
  const busy = document.activeElement && document.activeElement.matches(FIELDS);
  const typed = event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.metaKey && !event.altKey;
  if (code && !busy && typed) code.focus();
});

// A scan while somebody fills in a field: no hand types a whole code and Enter so fast. What the field held before it
// stands in it again, nothing is sent, and the card opens. Whatever reads as no code of ours is left where it is.
const BETWEEN = 100; // milliseconds between two keys of a scanner, at most
const USUAL = 40; // and on the average
const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"; // of calc/codes.py

function isCode(text) {
  const found = /^(?:https?:\/\/\S+\/)?([0-9a-z]{4})-?([0-9a-z]{4})-?([0-9a-z]{3})$/i.exec(text);
  if (!found) return false;
  const values = [...found.slice(1).join("").toUpperCase()].map((letter) => ALPHABET.indexOf(letter));
  const size = ALPHABET.length;
  // ISO/IEC 7064, a hybrid system as MOD 37,36 is one: a right code comes to 1.
  const sum = values.reduce((check, value) => (((check || size) * 2) % (size + 1) + value) % size, size / 2);
  return !values.includes(-1) && sum === 1;
}

let burst = null;
document.addEventListener("keydown", (event) => {
  const field = event.target;
  // A sign-in label is scanned into the field of the PIN.
  if (field === code || !field.matches(FIELDS) || field.type === "password") return;
  const now = event.timeStamp;
  const goesOn = burst && burst.field === field && now - burst.last <= BETWEEN;
  if (event.key === "Enter") {
    const quick = goesOn && burst.last - burst.first <= USUAL * (burst.text.length - 1);
    if (quick && isCode(burst.text)) {
      event.preventDefault();
      field.value = burst.before;
      open(burst.text);
    }
    burst = null;
  } else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) {
    if (!goesOn) burst = { field, before: field.value, text: "", first: now };
    burst.text += event.key;
    burst.last = now;
  } else if (event.key !== "Shift") burst = null;
});

// A sign-in label counts like the PIN: what it says goes into no address. Its shape is that of calc/codes.py.
const SIGN_IN = /[^0-9A-Za-z][A-Za-z2-7]{24}\s*$/;
if (code)
  code.form.addEventListener("submit", (event) => {
    if (!SIGN_IN.test(code.value)) return;
    event.preventDefault();
    location.assign("/sign-in");
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
