/* The hand pages: a scanner that types and ends with Enter, the phone's camera, and one thing at a time.
   Codes are read here as far as the book taken along allows; what it does not know the workshop reads. */
"use strict";
(() => {
  const hand = document.getElementById("hand");
  if (!hand) return;
  const SEPARATOR = "\x1d";
  const OWN = ["PLACE", "ITEM", "LOT", "PURCHASE", "ORDER", "KIT", "WORKS"];
  let book = null;
  const takeBook = () => fetch(hand.dataset.book, { headers: { Accept: "application/json", "X-Keep-This": "yes" } })
    .then((response) => (response.ok ? response.json() : null)).then((found) => { book = found || book; }).catch(() => null);
  const booked = takeBook();

  // Reading codes, as bom/kernel/scans.py does.
  const checkDigit = (body) => (10 - [...body].reverse().reduce((sum, digit, place) => sum + Number(digit) * (place % 2 ? 1 : 3), 0) % 10) % 10;
  const isKey = (digits) => /^\d{2,18}$/.test(digits) && checkDigit(digits.slice(0, -1)) === Number(digits.slice(-1));
  const wrongDigit = (digits) => (/^(\d{8}|\d{12,14}|\d{18})$/.test(digits) && !isKey(digits)
    ? `The check digit of ${digits} is wrong: it ends in ${digits.slice(-1)} and should end in ${checkDigit(digits.slice(0, -1))}. Scan it again.` : "");

  const elements = (text) => {
    const found = {};
    if (text.startsWith("(")) {
      for (const [, ai, value] of text.matchAll(/\((\d{2,4})\)([^(]*)/g)) found[ai] = value.trim();
      return found;
    }
    for (let rest = text.replace(/^\x1d+/, ""); rest;) {
      const ai = Object.keys(book?.ais || {}).sort((a, b) => b.length - a.length).find((one) => rest.startsWith(one));
      if (!ai) return null;
      const value = rest.slice(ai.length, ai.length + book.ais[ai][1]).split(SEPARATOR)[0];
      found[ai] = value;
      rest = rest.slice(ai.length + value.length).replace(/^\x1d+/, "");
    }
    return found;
  };

  const plain = (code) => {
    if (!book) return { code };
    const upper = code.toUpperCase();
    const item = [code, upper].find((one) => one in book.items);
    if (item) return { code, item };
    const place = [code, upper].find((one) => one in book.places);
    if (place) return { code, place };
    const called = book.numbers.filter(([number]) => number.toUpperCase() === upper || (/^\d{8,14}$/.test(code) && isKey(code) && number === code.padStart(14, "0")));
    if (called.length === 1) return { code, item: called[0][1], holds: Number(called[0][2]) };
    const lots = book.stacks.filter((stack) => stack[2] && stack[2].toUpperCase() === upper);
    if (lots.length) return { code, item: lots[0][0], lot: lots[0][2] };
    return { code, wrong: wrongDigit(code) };
  };

  /* {code, item, place, lot, count, wrong, kind, order}: what is known of it. */
  const read = (typed) => {
    let text = typed.trim();
    const symbol = text.match(/^\](\w\d)/);
    if (symbol) text = text.slice(3);
    const [word, ...codes] = text.split(":");
    if (codes.length && OWN.includes(word.toUpperCase())) {
      const [code, lot] = codes.map((one) => { try { return decodeURIComponent(one); } catch { return one; } });
      const kind = word.toUpperCase();
      const own = { PLACE: { place: code }, ITEM: { item: code }, LOT: { item: code, lot } }[kind] || {};
      return { code, kind, ...own };
    }
    const isGs1 = text.startsWith("(") || text.includes(SEPARATOR) || (symbol && /^(C1|e[012]|d2|Q3|J1)$/.test(symbol[1])) || (/^0[12]\d{14}/.test(text) && isKey(text.slice(2, 16)));
    const found = isGs1 ? elements(text) : null;
    if (!found) return plain(text);
    const number = found["01"] || found["02"];
    if (!number) return { code: text };
    if (!isKey(number)) return { code: number, wrong: wrongDigit(number) };
    const known = plain(number);
    const many = Number(found["37"] || found["30"] || 0);
    return { ...known, code: number, lot: found["10"] || found["21"] || "", count: many ? many * (known.holds || 1) : 0, order: found["400"] || "" };
  };

  const named = (item) => (book && item in book.items ? `${book.items[item][0]}` : "");
  const unit = (item) => (book && item in book.items ? book.items[item][1] : "");
  const tracked = (item) => !book || !(item in book.items) || book.items[item][2] !== "none";
  const isNumber = (text) => /^\d{1,7}([.,]\d{1,4})?$/.test(text.trim());

  const say = (form, text) => {
    const line = form.querySelector("[data-wrong]");
    if (!line) return;
    line.textContent = text || "";
    line.hidden = !text;
  };

  // A form of steps: one is shown, those before it stand above as what was answered.
  const steps = (form) => {
    const all = [...form.querySelectorAll(".step")];
    const input = (step) => step.querySelector("input, select, textarea");
    const field = (name) => form.elements.namedItem(name);
    const value = (name) => (field(name) ? field(name).value.trim() : "");
    const next = form.querySelector("[data-next]"), done = form.querySelector("[data-done]");
    let at = 0;

    const skipped = (step) => {
      const name = step.dataset.step;
      if (name === "lot") return !tracked(value("item"));
      if (name === "lot_code") return form.dataset.tracking === "none";
      if (name === "over_agreed") return Number(value("quantity")) <= Number(form.dataset.toCome || Infinity);
      return false;
    };
    const isLast = () => all.slice(at + 1).every(skipped);

    const show = (focus) => {
      all.forEach((step, index) => {
        step.hidden = index > at || (index < at && (skipped(step) || !input(step).value));
        step.classList.toggle("answered", index < at);
        step.querySelector(".change")?.remove();
        if (index < at) {
          const change = document.createElement("button");
          Object.assign(change, { type: "button", className: "change plain", textContent: "change" });
          change.setAttribute("aria-label", `change ${step.querySelector("label").textContent}`);
          change.addEventListener("click", () => { at = index; show(true); });
          step.append(change);
        }
      });
      next.hidden = isLast();
      done.hidden = !isLast();
      form.parentElement.querySelectorAll("[data-for]").forEach((choices) => { choices.hidden = !choices.dataset.for.split(" ").includes(all[at].dataset.step); });
      if (focus) { input(all[at]).focus(); input(all[at]).select?.(); }
    };

    const about = (name, text) => {
      const step = all.find((one) => one.dataset.step === name);
      if (step) step.querySelector("[data-about]").textContent = text;
    };
    const nameItem = (code) => about("item", [named(code), unit(code) && `counted in ${unit(code)}`].filter(Boolean).join(", "));

    const fill = (found) => {
      if (found.item && field("item")) { field("item").value = found.item; nameItem(found.item); }
      if (found.lot && field("lot")) field("lot").value = found.lot;
      const many = field("quantity") || field("counted");
      if (found.count && many && !many.value) many.value = String(found.count);
    };

    const go = () => {
      at += 1;
      while (at < all.length - 1 && skipped(all[at])) at += 1;
      show(true);
    };

    /* Whether what stands in the step's field can be taken; what is wrong is said. */
    const TAKES = {
      place: (box, found) => {
        if (found.place) { box.value = found.place; about(all[at].dataset.step, book?.places[found.place] || ""); return true; }
        if (found.item) return `${found.item} is an item; the label of a place is asked for.`;
        return book ? found.wrong || `There is no place ${found.code}.` : true;
      },
      item: (box, found) => {
        if (found.item) { box.value = found.item; fill(found); return true; }
        if (found.place) return `${found.place} is a place; an item is asked for.`;
        return book ? found.wrong || `Nothing here has the code ${found.code}.` : true;
      },
      lot: (box, found) => {
        if (found.item && found.lot && found.item !== value("item")) return `That is a lot of ${found.item}; ${value("item")} is meant.`;
        if (found.lot) box.value = found.lot;
        return true;
      },
      lots: (box, found) => {
        if (found.lot) box.value = found.lot;
        if (form.dataset.tracking === "serial") {
          const many = box.value.split(/[\s,;]+/).filter(Boolean).length;
          about("lot_code", `${many} of ${value("quantity")} numbers`);
          if (many < Number(value("quantity"))) { box.value = `${box.value} `; return "wait"; }
        }
        return true;
      },
      quantity: (box, found) => {
        if (isNumber(box.value)) { box.value = box.value.trim().replace(",", "."); return true; }
        if (found.item && found.item === value("item")) { box.value = String(Number(box.dataset.before || 0) + (found.count || 1)); box.dataset.before = box.value; return "wait"; }
        return `“${box.value}” is no quantity. Write figures.`;
      },
      line: (box, found) => chooseLine(box, found),
    };

    let scanned = null;  // what a label said that fits several lines
    const chooseLine = (box, found) => {
      const lines = [...form.parentElement.querySelectorAll("[data-line]")];
      const text = box.value.trim().toUpperCase();
      const exact = lines.filter((line) => line.dataset.line.toUpperCase() === text);
      const fits = exact.length ? exact : lines.filter((line) => [line.dataset.item, line.dataset.order].some((code) => code.toUpperCase() === text || code === found.item || code === found.code) || (found.order && line.dataset.order === found.order));
      lines.forEach((line) => { line.hidden = fits.length > 0 && !fits.includes(line); });
      if (fits.length === 1) return chosen(box, fits[0], found);
      scanned = fits.length ? found : null;
      return fits.length ? `${fits.length} lines fit: choose one below.` : found.wrong || `No line to come fits ${found.code}.`;
    };
    const chosen = (box, line, found) => {
      box.value = line.dataset.line;
      form.dataset.tracking = line.dataset.tracking;
      form.dataset.toCome = line.dataset.toCome;
      field("quantity").value = String(found?.count || line.dataset.toCome);
      field("place").value = line.dataset.place;
      field("seen").value = line.dataset.received;
      if (found?.lot) field("lot_code").value = found.lot;
      about("line", `${line.dataset.item} ${named(line.dataset.item)}`);
      return true;
    };
    form.parentElement.querySelectorAll("[data-line] button").forEach((button) => button.addEventListener("click", () => {
      say(form, "");
      chosen(field("line"), button.closest("[data-line]"), scanned);
      scanned = null;
      go();
    }));

    // What a line of a list says is filled in, and the form opens at the step that the line leaves to the person.
    form.parentElement.querySelectorAll("a[data-fill]").forEach((link) => link.addEventListener("click", (event) => {
      event.preventDefault();
      say(form, "");
      new URL(link.href).searchParams.forEach((text, name) => { if (field(name)) field(name).value = text; });
      form.dispatchEvent(new CustomEvent("hand:begin", { detail: { until: link.dataset.fill } }));
    }));

    const accept = async () => {
      const box = input(all[at]);
      if (!box.value.trim() && box.required) { say(form, "Scan or type it first."); box.focus(); return false; }
      await booked;
      const takes = TAKES[box.dataset.takes];
      const answer = takes && box.value.trim() ? takes(box, read(box.value)) : true;
      say(form, typeof answer === "string" && answer !== "wait" ? answer : "");
      if (answer !== true) { if (answer !== "wait") { box.focus(); box.select?.(); } return false; }
      return true;
    };
    const forward = async () => {
      if (!(await accept())) return;
      if (!isLast()) go(); else form.requestSubmit(done);
    };
    next.addEventListener("click", forward);
    form.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || event.target.tagName === "BUTTON") return;
      event.preventDefault();
      forward();
    });
    // The button itself is asked too: the last field must be right.
    done.addEventListener("click", (event) => {
      if (form.dataset.right) { delete form.dataset.right; return; }
      event.preventDefault();
      accept().then((right) => {
        if (!right) return;
        if (!isLast()) { go(); return; }
        form.dataset.right = "yes";
        done.click();
      });
    });
    const clear = () => {
      const stays = (form.dataset.stays || "").split(" ");
      all.forEach((step) => { if (!stays.includes(step.dataset.step)) { input(step).value = ""; delete input(step).dataset.before; step.querySelector("[data-about]").textContent = ""; } });
      if (field("seen")) field("seen").value = "";
      form.parentElement.querySelectorAll("[data-line]").forEach((line) => { line.hidden = false; });
      say(form, "");
      at = Math.max(0, all.findIndex((step) => !input(step).value));
      show(true);
    };
    form.addEventListener("hand:clear", clear);
    form.addEventListener("hand:code", forward);
    // What a link or a mended entry has filled in is passed over; a late count is made again, so a mended one stops there.
    form.addEventListener("input", () => { form.dataset.touched = "yes"; });
    form.addEventListener("hand:begin", async (event) => {
      await booked;
      if (form.dataset.touched && !event.detail) return;
      at = 0;
      show(true);
      while (at < all.length - 1 && all[at].dataset.step !== event.detail?.until && input(all[at]).value && (await accept())) go();
    });
    show(!all[0] || !input(all[0]).value);
    if (!new URLSearchParams(location.search).has("mend")) form.dispatchEvent(new Event("hand:begin"));
  };

  // A line of a kit: the label of its place or part is a check, not an entry.
  const lines = [...document.querySelectorAll("form.line")];
  const finished = document.querySelector("[data-finished]");
  const showLine = (form) => {
    lines.forEach((one) => { one.hidden = one !== form; });
    if (finished) finished.hidden = Boolean(form);
    form?.querySelector("[data-takes=check]").focus();
  };
  const open = () => lines.filter((form) => !form.dataset.kept);
  const check = async (form, box) => {
    await booked;
    const found = read(box.value);
    const wanted = form.dataset;
    const isRight = [found.item, found.code].some((code) => code && code.toUpperCase() === wanted.item.toUpperCase());
    const isPlace = [found.place, found.code].some((code) => code && code.toUpperCase() === wanted.place.toUpperCase());
    form.querySelector("[data-about]").textContent = isRight ? "The right part." : isPlace ? "The right place." : "";
    say(form, isRight || isPlace ? "" : found.item || found.place ? `That is ${found.item || found.place}; ${wanted.item} from ${wanted.place} is wanted.` : found.wrong || `${found.code} is not known; ${wanted.item} from ${wanted.place} is wanted.`);
    box.value = "";
    (isRight ? form.querySelector("[data-done]") : box).focus();
  };
  lines.forEach((form) => {
    const skip = form.querySelector("[data-skip]");
    const quantity = form.querySelector("[name=quantity]");
    skip.hidden = lines.length < 2;
    skip.addEventListener("click", () => { const left = open(); showLine(left[(left.indexOf(form) + 1) % left.length]); });
    form.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || event.target.tagName === "BUTTON") return;
      event.preventDefault();
      if (event.target.dataset.takes === "check") { if (event.target.value.trim()) check(form, event.target); } else form.requestSubmit(form.querySelector("[data-done]"));
    });
    form.addEventListener("submit", (event) => {
      quantity.value = quantity.value.trim().replace(",", ".");
      if (isNumber(quantity.value)) return;
      event.preventDefault();
      event.stopPropagation();
      say(form, `“${quantity.value}” is no quantity. Write figures.`);
    });
    form.addEventListener("hand:code", () => check(form, form.querySelector("[data-takes=check]")));
  });

  document.addEventListener("waiting:kept", ({ detail: { form } }) => {
    if ("steps" in form.dataset) { form.dispatchEvent(new Event("hand:clear")); return; }
    // What is done once stands among what waits; a second tap would be a second entry.
    if ("once" in form.dataset) { form.querySelectorAll("button").forEach((button) => { button.disabled = true; }); return; }
    if (!lines.includes(form)) return;
    form.dataset.kept = "yes";
    showLine(open()[0]);
  });
  document.addEventListener("waiting:mend", ({ detail: { form } }) => {
    if ("steps" in form.dataset) form.dispatchEvent(new CustomEvent("hand:begin", { detail: { until: form.elements.namedItem("counted") ? "counted" : "quantity" } }));
    else if (lines.includes(form)) showLine(form);
  });
  document.addEventListener("waiting:sent", takeBook);

  // The first page: say what was scanned and offer what can be done with it; what is not known here the workshop opens.
  const start = document.querySelector("form[data-scan]");
  const opened = async () => {
    await booked;
    const box = start.querySelector("input");
    const found = read(box.value);
    if (found.wrong) { say(start, found.wrong); box.select(); return; }
    if (!found.item && !found.place) { start.submit(); return; }
    say(start, "");
    const place = document.getElementById("found");
    const add = (tag, text, name, parent = place) => parent.appendChild(Object.assign(document.createElement(tag), { textContent: text, className: name || "" }));
    place.replaceChildren();
    place.hidden = false;
    add("h2", found.item || found.place);
    add("p", found.item ? named(found.item) : book.places[found.place] || "");
    const stacks = book.stacks.filter((stack) => (found.item ? stack[0] === found.item && (!found.lot || stack[2] === found.lot) : stack[1] === found.place));
    const shown = add("ul", "", "choices");
    stacks.slice(0, 12).forEach(([item, where, lot, many]) => add("li", `${found.item ? where : item}${lot ? `, ${lot}` : ""}: ${many} ${unit(item)}`, "", shown));
    if (!stacks.length) add("p", "Nothing lies there, by the ledger.");
    const acts = add("p", "", "acts");
    const query = new URLSearchParams(Object.entries({ item: found.item, place: found.place, lot: found.lot }).filter(([, value]) => value));
    for (const [word, address] of [["Count", place.dataset.count], ["Move", place.dataset.move]]) add("a", word, "btn", acts).href = `${address}?${query}`;
    box.value = "";
    box.focus();
  };
  if (start) {
    start.addEventListener("submit", (event) => { event.preventDefault(); delete start.dataset.sent; if (start.querySelector("input").value.trim()) opened(); });
    start.addEventListener("hand:code", opened);
    start.querySelector("input").focus();
  }

  // The camera, where the browser reads codes itself.
  const camera = document.getElementById("camera");
  const canSee = "BarcodeDetector" in window && navigator.mediaDevices && camera;
  let seeing = null;
  const stopSeeing = () => { seeing?.getTracks().forEach((track) => track.stop()); seeing = null; if (camera.open) camera.close(); };
  const look = async (form) => {
    const video = camera.querySelector("video"), words = camera.querySelector(".say");
    camera.showModal();
    words.textContent = "Hold the code before the camera.";
    try {
      seeing = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      video.srcObject = seeing;
      await video.play();
      const detector = new window.BarcodeDetector();
      while (seeing) {
        const [code] = await detector.detect(video);
        if (code) {
          const box = [...form.querySelectorAll("[data-takes]")].find((one) => one.offsetParent && !one.closest(".answered"));
          stopSeeing();
          box.value = code.rawValue;
          box.dispatchEvent(new Event("input", { bubbles: true }));
          form.dispatchEvent(new Event("hand:code"));
          return;
        }
        await new Promise((resolve) => setTimeout(resolve, 150));
      }
    } catch {
      words.textContent = "The camera cannot be used. Allow it for this page, or type the code.";
    }
  };
  if (canSee) {
    document.querySelectorAll("[data-camera]").forEach((button) => { button.hidden = false; button.addEventListener("click", () => look(button.closest("form"))); });
    camera.querySelector("[data-close]").addEventListener("click", stopSeeing);
    camera.addEventListener("close", stopSeeing);
  }

  // Scanners send the separator of GS1 labels as Ctrl+]; a field would swallow it.
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey && event.key === "]") || !event.target.matches("input")) return;
    event.preventDefault();
    event.target.setRangeText(SEPARATOR, event.target.selectionStart, event.target.selectionEnd, "end");
  });

  document.querySelectorAll("form[data-steps]").forEach(steps);
  if (lines.length) showLine(open()[0]);
})();
