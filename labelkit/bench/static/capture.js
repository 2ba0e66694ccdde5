// The capture works without this script. With it, names are suggested while they are typed, Enter goes on to the next
// size, a field beside buttons chooses itself, and parts are dragged to their place in the list.
"use strict";

// Names while one types.
const typed = document.querySelector("[data-picks]");
if (typed) {
  const picks = document.getElementById("picks");
  let asked = 0;
  typed.addEventListener("input", async () => {
    const turn = ++asked;
    await new Promise((ready) => setTimeout(ready, 120));
    if (turn !== asked) return;
    try {
      const answer = await fetch(`${typed.dataset.picks}?name=${encodeURIComponent(typed.value)}`);
      const buttons = await answer.text();
      if (answer.ok && !answer.redirected && turn === asked) picks.innerHTML = buttons;
    } catch {
      // the network is away: names are typed
    }
  });
}

const part = document.getElementById("form-part");
if (part) {
  const sizes = [...part.querySelectorAll(".figures input, #f-size-steps")];
  const radios = (name) => [...part.elements].filter((each) => each.type === "radio" && each.name === name);
  const choose = (name, value) => {
    for (const radio of radios(name)) radio.checked = radio.value === value;
  };

  // The photo is a tap away wherever the page is; each is kept, with a new field for the next one.
  const shoot = document.getElementById("shoot");
  const count = () => {
    const photos = [...part.querySelectorAll("[type=file]")].reduce((sum, field) => sum + field.files.length, 0);
    if (photos) shoot.textContent = shoot.dataset.count.replace("…", photos);
  };
  shoot.hidden = false;
  shoot.addEventListener("click", () => document.getElementById("f-picture").click());
  part.addEventListener("change", (event) => {
    if (event.target.type !== "file") return;
    if (event.target.id === "f-picture" && event.target.files.length) {
      const next = event.target.cloneNode();
      event.target.removeAttribute("id");
      event.target.hidden = true;
      next.value = "";
      event.target.after(next);
    }
    count();
  });

  // Enter goes from size to size; behind the last one the keypad goes away.
  part.addEventListener("keydown", (event) => {
    const place = sizes.indexOf(event.target);
    if (event.key !== "Enter" || place < 0) return;
    event.preventDefault();
    if (place + 1 < sizes.length) sizes[place + 1].focus();
    else event.target.blur();
  });
  part.addEventListener("change", (event) => {
    const open = event.target.closest(".asked") && sizes.find((size) => !size.value);
    if (open) open.focus();
  });

  // Fractions of an inch need a keyboard that has them.
  const keys = () => {
    const inch = radios("figures_in").some((radio) => radio.checked && radio.value === "in");
    for (const size of sizes) if (size.inputMode !== "numeric") size.inputMode = inch ? "text" : "decimal";
  };
  for (const radio of radios("figures_in")) radio.addEventListener("change", keys);
  keys();

  // What is typed beside buttons is what is meant; a button that is tapped afterwards takes its place.
  for (const field of part.querySelectorAll(".other input:not([type=radio])")) {
    const radio = field.parentNode.querySelector("[type=radio]");
    field.addEventListener("input", () => {
      if (field.value) radio.checked = true;
    });
    for (const other of radios(radio.name)) {
      if (other !== radio) other.addEventListener("change", () => (field.value = ""));
    }
  }

  // One tap for how it sat: shown where it is told one by one, which may be changed there.
  for (const quick of radios("quick")) {
    quick.addEventListener("change", () => {
      const [way, clock, on, ...words] = quick.value.split(";");
      const [field, face] = [document.getElementById("f-face"), words.join(";")];
      if (way || face) choose("way", way);
      if (face && field) field.value = face;
      choose("clock", clock);
      choose("on", on);
    });
  }

  for (const chips of part.querySelectorAll(".chips")) {
    chips.hidden = false;
    chips.addEventListener("click", (event) => {
      if (event.target.type !== "button") return;
      document.getElementById(chips.dataset.fills).value = event.target.textContent;
      choose("way", "");
    });
  }
}

// A part is dragged by its handle, what is inside it comes along; a line shows where it lands, before another one.
const carry = document.getElementById("carry");
if (carry) {
  const list = document.querySelector(".captured ol");
  const said = document.getElementById("carried");
  const line = document.createElement("li");
  line.className = "here";
  const rows = [...list.children];
  const depth = (row) => Number(row.dataset.depth);
  let moved = [];
  let ways = [];
  let at = 0;
  let own = 0;

  const take = (row) => {
    const first = rows.indexOf(row);
    let end = first + 1;
    while (end < rows.length && depth(rows[end]) > depth(row)) end += 1;
    moved = rows.slice(first, end);
    // Before each of the others, and behind the last one.
    ways = [...rows.slice(0, first), ...rows.slice(end), null];
    own = at = first;
    for (const each of moved) each.classList.add("moved");
  };
  const aim = (place) => {
    at = Math.max(0, Math.min(place, ways.length - 1));
    const target = ways[at];
    if (at === own) line.remove();
    else list.insertBefore(line, target);
    const words = target ? carry.dataset.words.replace("…", target.querySelector("b").textContent) : carry.dataset.end;
    said.textContent = at === own ? "" : words;
  };
  const back = () => {
    for (const each of moved) each.classList.remove("moved");
    moved = [];
    line.remove();
    said.textContent = "";
  };
  const drop = () => {
    if (!moved.length || at === own) return back();
    carry.elements.before.value = ways[at] ? ways[at].dataset.number : "";
    carry.action = `${carry.dataset.part}${moved[0].dataset.number}/before`;
    carry.requestSubmit();
    return undefined;
  };

  for (const handle of list.querySelectorAll(".handle")) {
    const row = handle.closest("li");
    let from = null;
    let dragged = false;
    handle.addEventListener("dragstart", (event) => event.preventDefault());
    handle.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      back();
      from = event.clientY;
      dragged = false;
      handle.setPointerCapture(event.pointerId);
    });
    handle.addEventListener("pointermove", (event) => {
      if (from === null || (!dragged && Math.abs(event.clientY - from) < 8)) return;
      if (!dragged) take(row);
      dragged = true;
      if (event.clientY < 70) scrollBy(0, -14);
      else if (event.clientY > innerHeight - 70) scrollBy(0, 14);
      const below = ways.findIndex((each) => {
        const box = each && each.getBoundingClientRect();
        return !box || event.clientY < (box.top + box.bottom) / 2;
      });
      aim(below);
    });
    handle.addEventListener("pointerup", () => {
      from = null;
      if (dragged) drop();
    });
    handle.addEventListener("pointercancel", () => {
      from = null;
      back();
    });
    // A drag is no tap: the link is for who only taps.
    handle.addEventListener("click", (event) => {
      if (dragged) event.preventDefault();
      dragged = false;
    });
    handle.addEventListener("keydown", (event) => {
      if (event.key === "ArrowUp" || event.key === "ArrowDown") {
        event.preventDefault();
        if (!moved.length) take(row);
        aim(at + (event.key === "ArrowDown" ? 1 : -1));
      } else if (moved.length && (event.key === "Enter" || event.key === " ")) {
        event.preventDefault();
        drop();
      } else if (event.key === "Escape") {
        back();
      }
    });
    handle.addEventListener("blur", () => {
      if (from === null && !carry.dataset.sent) back();
    });
  }
}
