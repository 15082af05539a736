"use strict";
/* Asks this service about what stands in the two boxes and shows the answer. Loads nothing, keeps nothing. */
(() => {
  const at = (id) => document.getElementById(id);
  const WORDS = { holds: "Holds", doubtful: "Doubtful", lets_go: "Does not hold", unknown: "Could not tell" };
  let asked = null;
  let made = [];

  const say = (text) => { at("status").textContent = text; };

  const element = (name, text) => {
    const one = document.createElement(name);
    one.textContent = text;
    return one;
  };

  const address = (blob) => {
    const url = URL.createObjectURL(blob);
    made.push(url);
    return url;
  };

  /* Ask, and give the answer; what is refused becomes an error that says all that is wrong. */
  const ask = async (path, accept) => {
    const headers = { "Content-Type": "application/json", "Accept": `${accept}, application/problem+json` };
    if (at("token").value) headers.Authorization = `Bearer ${at("token").value}`;
    const response = await fetch(path, { method: "POST", headers, body: JSON.stringify(asked) });
    if (response.ok) return response;
    const problem = await response.json();
    const failed = new Error(`${problem.title}: ${problem.detail}`);
    failed.lines = (problem.errors || []).map(
      (one) => `${one.pointer || "/"}: ${one.detail}${one.corrected ? ` (meant: ${one.corrected})` : ""}`);
    throw failed;
  };

  const document_in = () => {
    const text = at("set-up").value.trim();
    if (!text) throw new Error("Paste or drop a set-up first.");
    let found;
    try {
      found = JSON.parse(text);
    } catch (error) {
      throw new Error(`The set-up is no JSON: ${error.message}`);
    }
    if (found === null || typeof found !== "object" || Array.isArray(found)) {
      throw new Error("A set-up is one JSON object, {...}.");
    }
    const program = at("program").value;
    return program.trim() ? { ...found, program: { ...(found.program || {}), text: program } } : found;
  };

  const clear = () => {
    made.forEach((url) => URL.revokeObjectURL(url));
    made = [];
    at("picture").replaceChildren();
    at("facts").tBodies[0].replaceChildren();
    at("lists").replaceChildren();
    at("opened").replaceChildren();
  };

  const head = (title, text) => {
    at("verdict").replaceChildren(element("b", title), document.createTextNode(text));
    at("answer").hidden = false;
    at("verdict").focus();
  };

  const fact = (name, value) => {
    const row = at("facts").tBodies[0].insertRow();
    row.append(element("td", name), element("td", value));
  };

  const list = (title, lines) => {
    if (!lines.length) return;
    const items = document.createElement("ul");
    items.append(...lines.map((line) => element("li", line)));
    at("lists").append(element("h3", title), items);
  };

  const number = (value, unlimited) => (unlimited || value === null ? "unlimited" : String(Number(value.toPrecision(3))));

  const show = (answer) => {
    const { margin, worst, units } = answer;
    head(WORDS[answer.verdict], answer.summary);
    fact("Margin, typical", number(margin.typical, margin.unlimited));
    fact("with all against you", number(margin.pessimistic, margin.unlimited));
    fact("asked for", number(margin.required, false));
    if (worst) {
      fact("Weakest", `${worst.line ? `line ${worst.line}` : worst.cut} at ${worst.at.join(", ")} ${units.length}`);
    }
    if (answer.let_go) fact("Lets go by", answer.let_go.kind);
    list("What would help", answer.remedies.map((one) => one.detail));
    list("Not in order", answer.checks.filter((one) => !one.ok).map((one) => `${one.name}: ${one.detail}`));
    list("Mind", answer.warnings.map((one) => (one.line ? `line ${one.line}: ${one.detail}` : one.detail)));
    list("Cautions", answer.cautions);
  };

  const draw = async (summary) => {
    const picture = new Image();
    picture.alt = `Plan of the set-up. ${summary}`;
    picture.src = address(await (await ask("/v1/margin", "image/svg+xml")).blob());
    at("picture").replaceChildren(picture);
  };

  /* Run one task at a time, with what goes wrong shown where the answer would stand. */
  const run = async (task) => {
    const buttons = [at("check"), at("sheet"), at("pdf")];
    if (buttons[0].disabled) return;
    buttons.forEach((button) => { button.disabled = true; });
    say("Asking ...");
    try {
      await task();
      say("Done.");
    } catch (error) {
      say("");
      clear();
      head("No answer", error.message);
      list("What is wrong", error.lines || []);
    } finally {
      buttons.forEach((button) => { button.disabled = false; });
    }
  };

  const check = () => run(async () => {
    asked = document_in();
    clear();
    const answer = await (await ask("/v1/margin", "application/json")).json();
    show(answer);
    await draw(answer.summary);
  });

  const open = (accept, text, file) => run(async () => {
    asked = document_in();
    const link = element("a", text);
    link.className = "open";
    link.href = address(await (await ask("/v1/sheet", accept)).blob());
    link.target = "_blank";
    if (file) link.download = file;
    at("opened").replaceChildren(link);
    link.focus();
  });

  const take = async (file, box) => {
    const text = await file.text();
    const chosen = box || (/^\s*\{/.test(text) ? "set-up" : "program");
    at(chosen).value = text;
    say(`${file.name} is in the box for the ${chosen}.`);
  };

  at("check").addEventListener("click", check);
  at("sheet").addEventListener("click", () => open("text/html", "Open the sheet", ""));
  at("pdf").addEventListener("click", () => open("application/pdf", "Save the PDF", "set-up-sheet.pdf"));
  ["set-up", "program"].forEach((box) => {
    const chooser = at(`${box}-file`);
    chooser.addEventListener("change", () => chooser.files[0] && take(chooser.files[0], box));
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) check();
  });
  document.addEventListener("dragover", (event) => {
    event.preventDefault();
    document.body.classList.add("over");
  });
  document.addEventListener("dragleave", () => document.body.classList.remove("over"));
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    document.body.classList.remove("over");
    [...event.dataTransfer.files].forEach((file) => take(file, ""));
  });
})();
