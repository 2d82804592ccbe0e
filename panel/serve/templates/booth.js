"use strict";
// What was tapped and is not on disk yet lies in this browser, under its seat and its sign-in, and
// is sent until the server says that it is kept. A number of its own keeps a deed from being done
// twice. Nothing here knows how a page looks: pages come from the server.
(() => {
  const SETTLE_MS = 300, RETRY_MS = 2000, PATIENCE_MS = 20000, TWICE_MS = 400, FINGER_PX = 30, DIGITS = 16;
  const page = () => document.body.dataset;
  const shelf = () => `${page().seat} ${page().booth}`;
  const all = (what, from = document) => [...from.querySelectorAll(what)];
  const one = what => document.querySelector(what);
  let queue = [], busy = false, late = false, halted = false, sipped = null, timer = 0, settling = 0, looking = 0, answers = 0, arrived = false;

  const number = () => Array.from(crypto.getRandomValues(new Uint8Array(DIGITS)),
    byte => byte.toString(16).padStart(2, "0")).join("");

  // ---------------------------------------------------------------- what lies in this browser
  // A window that is killed has written what it was told to keep: `laid` is what a deed was when that
  // was so. A browser's plain storage is written seconds later, and would have held nothing.

  const opened = new Promise(done => {
    try {
      const asked = indexedDB.open("oakpanel", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("unsent");
      asked.onsuccess = () => done(asked.result);
      asked.onerror = asked.onblocked = () => done(null);
    } catch { done(null); }
  });
  const within = async (how, work) => {
    const base = await opened;
    // A browser without storage still sends what it holds.
    if (!base) return false;
    return new Promise(done => {
      const deal = base.transaction("unsent", how, { durability: "strict" });
      deal.oncomplete = () => done(true);
      deal.onerror = deal.onabort = () => done(false);
      work(deal.objectStore("unsent"));
    });
  };
  const shelves = async () => {
    let names, deeds;
    const read = await within("readonly", base => { names = base.getAllKeys(); deeds = base.getAll(); });
    return read ? names.result.map((name, at) => [name, deeds.result[at]]) : [];
  };
  const lay = (base, name, deeds) => (deeds.length ? base.put(deeds, name) : base.delete(name));
  const save = async () => {
    const deeds = [...queue], was = deeds.map(deed => deed.told);
    if (!arrived || !page().seat) return;
    await within("readwrite", base => lay(base, shelf(), deeds));
    deeds.forEach((deed, at) => { deed.laid = was[at]; });
    if (late || halted) told();
  };
  const wipe = () => { queue = []; return within("readwrite", base => base.clear()); };

  // ---------------------------------------------------------------- what a page says

  const say = (words, trouble) => {
    const said = one("#said");
    if (!said) return;
    said.textContent = (trouble && words ? "! " : "") + words;
    said.classList.toggle("trouble", Boolean(trouble));
  };
  const lies = deed => (late || halted) && deed.laid === deed.told;
  const list = (box, deeds) => {
    box.querySelector("ul").replaceChildren(...deeds.map(deed => {
      const row = document.createElement("li");
      row.textContent = deed.told;
      return row;
    }));
    box.hidden = !deeds.length;
  };
  const told = why => {
    const held = queue.filter(lies);
    list(one("#unsent"), held);
    one("#again").hidden = halted;
    if (why !== undefined) one("#why").textContent = why;
    all(".line").forEach(mark);
  };

  // ---------------------------------------------------------------- one line

  const waiting = line => queue.findLast(deed => deed.glass === page().about && deed.line === line.dataset.line);
  const put = (line, value) => {
    const slide = line.querySelector("input[type=range]"), typed = line.querySelector(".value");
    typed.value = value;
    if (value !== "") slide.value = value;
    slide.classList.toggle("blank", value === "");
    if (value === "") { slide.value = line.dataset.low; slide.setAttribute("aria-valuetext", "blank"); }
    else slide.removeAttribute("aria-valuetext");
    line.querySelector(".unset").disabled = value === "";
  };
  const mark = line => {
    const kept = line.querySelector(".kept"), unsent = waiting(line);
    const words = unsent ? (lies(unsent) ? "! not kept yet" : "keeping ...")
      : line.dataset.at ? `kept ${line.dataset.at}` : line.dataset.cleared ? "kept: blank" : "";
    if (kept.textContent !== words) kept.textContent = words;
    kept.classList.toggle("late", Boolean(unsent && lies(unsent)));
  };
  const change = (line, value) => {
    put(line, value);
    delete line.dataset.cleared;
    const { line: id, name } = line.dataset, code = one(".standing .code").textContent;
    const fields = [["deed", "scores"], ["glass", one("#scores [name=glass]").value], [`line-${id}`, value]];
    const words = `${code} ${name} ${value === "" ? "blank" : value}`;
    const before = waiting(line);
    if (before && !before.sent) { before.fields = fields; before.told = words; }
    else queue.push({ number: number(), fields, told: words, glass: page().about, line: id });
    save();
    told();
    clearTimeout(settling);
    settling = setTimeout(pump, SETTLE_MS);
  };
  const typed = line => {
    const field = line.querySelector(".value"), { low, high } = line.dataset;
    if (field.value === "" && !field.validity.badInput) return change(line, "");
    const value = Number(field.value);
    if (field.validity.badInput || !Number.isInteger(value) || value < low || value > high) {
      say(`A score lies between ${low} and ${high}: the line stands as before.`, true);
      return put(line, waiting(line)?.fields[2][1] ?? line.dataset.kept);
    }
    return change(line, String(value));
  };

  // ---------------------------------------------------------------- sending

  const send = async deed => {
    const form = new URLSearchParams([...deed.fields, ["number", deed.number], ["form", page().form]]);
    return fetch("/deed", { method: "POST", body: form, signal: AbortSignal.timeout(PATIENCE_MS) });
  };
  const pump = async () => {
    clearTimeout(settling);
    clearTimeout(timer);
    if (busy || halted || !arrived || !queue.length) return;
    busy = true;
    const deed = queue[0];
    deed.sent = true;
    save();
    let status = 0, text = "";
    try { const reply = await send(deed); status = reply.status; text = await reply.text(); } catch { status = 0; }
    busy = false;
    answers += 1;
    if (status === 403) { halted = true; show(text); told(); return; }
    if (status === 0 || status >= 500) { hold(deed, text); return; }
    queue = queue.filter(each => each !== deed);
    if (status === 410) queue = queue.filter(each => each.glass !== deed.glass || !each.line);
    late = false;
    save();
    const cleared = status === 200 && deed.line && deed.fields[2][1] === "" && one(`.line[data-line="${deed.line}"]`);
    if (cleared && deed.glass === page().about) cleared.dataset.cleared = "yes";
    show(text);
    told("");
    if (queue.length) pump();
  };
  const hold = (deed, text) => {
    late = true;
    if (deed.now) {
      queue = queue.filter(each => each !== deed);
      save();
      say(`It is not known whether this was done: ${deed.told}. See what stands here once the line is back.`, true);
    }
    const parsed = text && new DOMParser().parseFromString(text, "text/html").querySelector("#said");
    told(parsed ? parsed.textContent : "The server does not answer. What you set is sent once it does.");
    timer = setTimeout(queue.length ? pump : look, RETRY_MS);
  };
  const look = async () => {
    clearTimeout(looking);
    if (!busy && !halted && !queue.length) {
      try {
        const before = answers, reply = await fetch(location.pathname === "/words" ? "/words" : "/", { signal: AbortSignal.timeout(PATIENCE_MS) });
        const text = await reply.text();
        // A page that was asked for before a deed knows nothing of it.
        if (!queue.length && !busy && answers === before) { late = false; seen(text); told(""); }
      } catch { late = true; }
    }
    again();
  };
  // At a glass nothing is redrawn under a hand: it is only seen whether the glass still stands here.
  const seen = text => {
    const came = new DOMParser().parseFromString(text, "text/html").body.dataset;
    if (!Number(page().watch) || came.about !== page().about) show(text, true);
  };
  const again = () => {
    clearTimeout(looking);
    const every = Number(page().look) || Number(page().watch) || (late ? RETRY_MS / 1000 : 0);
    if (every) looking = setTimeout(look, every * 1000);
  };

  // ---------------------------------------------------------------- a page that came back

  const show = (text, quiet) => {
    const came = new DOMParser().parseFromString(text, "text/html");
    if (!came.body.dataset.about) { location.reload(); return; }
    if (came.body.dataset.about === page().about) patch(came, quiet);
    else turn(came);
    begin();
  };
  const patch = (came, quiet) => {
    all("[data-fresh]", came).forEach(fresh => {
      const here = document.getElementById(fresh.id);
      if (!here || (quiet && fresh.id === "said") || here.isEqualNode(fresh)) return;
      const focus = here.contains(document.activeElement) && document.activeElement.id;
      all("details", here).concat(here).forEach(old => {
        const anew = old.open && (old.id === fresh.id ? fresh : fresh.querySelector(`#${old.id}`));
        if (anew) anew.open = true;
      });
      here.replaceWith(document.adoptNode(fresh));
      if (focus) document.getElementById(focus)?.focus();
    });
    all(".line", came).forEach(fresh => {
      const here = one(`.line[data-line="${fresh.dataset.line}"]`);
      if (!here) return;
      const moved = here.dataset.kept !== fresh.dataset.kept;
      Object.assign(here.dataset, { kept: fresh.dataset.kept, at: fresh.dataset.at });
      if (!waiting(here) && (moved || here.querySelector(".value").value !== fresh.dataset.kept)) put(here, fresh.dataset.kept);
    });
    ["form", "look", "over"].forEach(name => { if (name in came.body.dataset) page()[name] = came.body.dataset[name]; });
  };
  const turn = came => {
    turned = performance.now();
    sipped = null;
    document.body.replaceWith(document.adoptNode(came.body));
    scrollTo(0, 0);
    const first = one("[autofocus]") || one("h1");
    if (first.tagName === "H1") first.tabIndex = -1;
    first.focus();
  };
  const begin = () => {
    const clock = one("#clock");
    if (!clock) sipped = null;
    else if (clock.dataset.since && sipped === null) sipped = performance.now() - 1000 * Number(clock.dataset.since);
    if (page().over) { wipe(); told(); }
    all(".line").forEach(line => {
      const unsent = waiting(line);
      if (unsent) put(line, unsent.fields[2][1]);
      else line.querySelector(".unset").disabled = line.querySelector(".value").value === "";
      mark(line);
    });
    tick();
    again();
  };

  // ---------------------------------------------------------------- hands

  document.addEventListener("submit", event => {
    const form = event.target;
    if (form.id === "scores") { event.preventDefault(); return; }
    if (form.id === "leave") { leave(event, form); return; }
    if (!form.classList.contains("deed")) return;
    event.preventDefault();
    if (form.dataset.now && late && queue.length) {
      say("Not everything is kept yet: try again first.", true);
      return;
    }
    const fields = [...new FormData(form, event.submitter)].filter(([name]) => name !== "number" && name !== "form");
    const [pressed, on] = (event.submitter?.name ? event.submitter.value : "").split(":");
    if (form.classList.contains("timed") && !timed(form, fields)) return;
    const said = form.dataset.value ? form.elements[form.dataset.value].value : pressed;
    const told = `${form.dataset.told} ${said} ${on === "off" ? "taken off" : ""}`.trim();
    const twice = performance.now() - tapped.at < TWICE_MS && tapped.what === form.dataset.told + said;
    if (twice && queue.includes(tapped.deed)) return;
    const deed = { number: number(), fields, told, glass: page().about, now: Boolean(form.dataset.now) };
    if (twice) Object.assign(deed, { number: tapped.deed.number, fields: tapped.deed.fields, told: tapped.deed.told });
    tapped = { at: performance.now(), what: form.dataset.told + said, deed };
    queue.push(deed);
    if (form.id === "name") form.reset();
    save();
    pump();
  });
  // A finger that tapped twice meant once: the deed goes again under its number, and what it did is
  // answered; and what has just come to lie under that finger was not meant.
  let tapped = { at: -Infinity }, turned = -Infinity;
  let hit = { x: -1000, y: 0 };
  document.addEventListener("click", event => {
    const near = Math.hypot(event.clientX - hit.x, event.clientY - hit.y) < FINGER_PX;
    if (event.detail && near && performance.now() - turned < TWICE_MS) { event.preventDefault(); event.stopPropagation(); }
    hit = { x: event.clientX, y: event.clientY };
  }, true);
  const leave = async (event, form) => {
    if (form.dataset.keep) return;
    event.preventDefault();
    if (queue.length && !confirm(`Not kept yet: ${queue.map(deed => deed.told).join(", ")}. Leave, and lose that?`)) return;
    halted = true;
    await wipe();
    form.submit();
  };
  const lineOf = event => event.target.closest?.(".line");
  document.addEventListener("input", event => {
    if (event.target.type === "range") change(lineOf(event), event.target.value);
  });
  document.addEventListener("change", event => {
    if (event.target.classList.contains("value")) typed(lineOf(event));
  });
  document.addEventListener("keydown", event => {
    if (event.key === "Enter" && event.target.classList?.contains("value")) event.target.blur();
  });
  document.addEventListener("click", event => {
    const line = lineOf(event), hit = event.target;
    if (hit.id === "again") { say("Trying again ..."); late && !queue.length ? look() : pump(); }
    if (hit.id === "keep" || hit.id === "forget") settle(hit.id === "keep");
    if (!line) return;
    const value = line.querySelector(".value").value;
    if (hit.type === "range" && value === "") change(line, hit.value);
    if (hit.classList.contains("unset")) change(line, "");
    if (hit.classList.contains("step")) {
      const { low, high } = line.dataset, start = value === "" ? Number(low) : Number(value);
      change(line, String(Math.min(Math.max(start + Number(hit.dataset.step), low), high)));
    }
  });
  // A finger that begins on a line and then scrolls the page has not scored.
  let touched = null;
  document.addEventListener("pointerdown", event => {
    touched = event.target.type === "range" ? [lineOf(event), lineOf(event).querySelector(".value").value] : null;
  });
  document.addEventListener("pointercancel", () => {
    if (touched && touched[0].querySelector(".value").value !== touched[1]) change(...touched);
    touched = null;
  });

  // ---------------------------------------------------------------- seconds after a sip
  // They are counted here from the first answer, so that none waits for the line: each goes with the
  // second at which it was tapped, however late it is sent.

  const since = () => (sipped === null ? 0 : (performance.now() - sipped) / 1000);
  const waits = () => all("[data-due]").find(each => !each.dataset.given);
  const timed = (form, fields) => {
    const row = form.closest("[data-due]"), due = Number(row.dataset.due);
    if (sipped === null && due) { say(one("#clock").dataset.sip, true); return false; }
    if (since() < due) { say(`${due} s is not there yet.`, true); return false; }
    if (sipped === null) sipped = performance.now();
    fields.push(["at_s", since().toFixed(2)]);
    row.dataset.given = "yes";
    return true;
  };
  setInterval(() => {
    const clock = one("#clock"), row = waits();
    if (!clock || sipped === null) return;
    const now = since(), { spitS, spit } = clock.dataset;
    const spits = now >= Number(spitS) && now < 2 * Number(spitS) ? `${spit} ` : "";
    const words = spits + (row && now >= Number(row.dataset.due) ? row.dataset.asked : "");
    if (clock.textContent !== words) clock.textContent = words;
    one("#seconds").textContent = `${Math.floor(now)} s`;
  }, 200);
  document.addEventListener("keydown", event => {
    const row = one("#clock") && waits();
    if (!row || !/^[0-9]$/.test(event.key) || event.target.matches("input, textarea")) return;
    row.querySelector(`button[value="${event.key}"]`)?.click();
  });

  // ---------------------------------------------------------------- the pause, and other windows

  let until = 0;
  const tick = () => {
    const pause = one("#pause");
    if (!pause) return;
    until = performance.now() + 1000 * Number(pause.dataset.seconds);
  };
  setInterval(() => {
    const pause = one("#pause");
    if (!pause || !Number(pause.dataset.seconds)) return;
    const left = Math.ceil((until - performance.now()) / 1000);
    if (left <= 0) { pause.dataset.seconds = "0"; pause.textContent = pause.dataset.after; return; }
    pause.dataset.seconds = String(left);
    pause.textContent = pause.textContent.replace(/[0-9]+:[0-9]{2}/, `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`);
  }, 250);
  const me = number(), others = window.BroadcastChannel && new BroadcastChannel("oakpanel booth");
  if (others && page().seat) {
    others.onmessage = ({ data }) => {
      if (data.from === me) return;
      if (data.asks && !halted) others.postMessage({ from: me, to: data.from });
      if (data.to === me && !halted) {
        halted = true;
        const words = document.createElement("p");
        words.id = "said";
        words.className = "trouble";
        words.textContent = "! This booth is open in another window of this browser: go on there, and close this one.";
        one("main").replaceChildren(words);
        one("nav")?.remove();
      }
    };
    others.postMessage({ from: me, asks: true });
  }

  // ---------------------------------------------------------------- what was left from before

  const ofSeat = ([name]) => name.split(" ")[0] === page().seat;
  const left = deeds => deeds.filter(deed => !deed.now);
  const settle = async keep => {
    const mine = (await shelves()).filter(ofSeat).filter(([name]) => name !== shelf());
    if (keep) mine.forEach(([, deeds]) => queue.push(...left(deeds)));
    list(one("#leftover"), []);
    await within("readwrite", base => {
      lay(base, shelf(), [...queue]);
      mine.forEach(([name]) => base.delete(name));
    });
    save();
    begin();
    pump();
  };
  const arrive = async () => {
    if (page().seat) {
      const lying = await shelves(), strange = lying.filter(each => !ofSeat(each));
      if (strange.length) await within("readwrite", base => strange.forEach(([name]) => base.delete(name)));
      const mine = lying.filter(ofSeat), before = mine.filter(([name]) => name !== shelf());
      queue = [...mine.filter(([name]) => name === shelf()).flatMap(([, deeds]) => left(deeds)), ...queue];
      list(one("#leftover"), before.flatMap(([, deeds]) => left(deeds)));
    }
    arrived = true;
    save();
    document.documentElement.classList.add("runs");
    begin();
    if (queue.length) pump();
  };
  addEventListener("online", () => (queue.length ? pump() : look()));
  arrive();
})();
