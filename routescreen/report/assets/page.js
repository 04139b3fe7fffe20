"use strict";
// The page: the answer, plan above long section, the sheet of what is chosen, and all tables.
(function () {
  const D = rs.data, T = D.texts, el = rs.el, main = document.getElementById("main");
  const NAMES = { sections: "section_id", drives: "drive_id", shafts: "shaft_id", crossing_schedule: "crossing_id", joint_bays: "bay_id" };

  rs.table_of = function (name) {
    const table = rs.corridor.tables[name], of = { rows: table.rows, columns: table.columns };
    table.columns.forEach((c, i) => { of[c.key] = i; });
    return of;
  };
  function index() {
    rs.other = null; rs.index = new Map(); rs.of_section = new Map();
    for (const [name, key] of Object.entries(NAMES)) {
      const t = rs.table_of(name);
      for (const row of t.rows) rs.index.set(row[t[key]], { name, row, t });
    }
    const drives = rs.table_of("drives");
    for (const row of drives.rows) rs.of_section.set(row[drives.section_id], row[drives.drive_id]);
  }
  rs.drive_of = (section) => rs.of_section.get(section) || section;
  rs.name_of = function (id) {
    const found = rs.index.get(id);
    if (!found) return rs.short(id);
    const get = (key) => (found.t[key] === undefined ? null : found.row[found.t[key]]);
    const more = get("name") || (get("kind") && rs.word(get("kind")).replaceAll("_", " ")) || (get("role") && get("role").split("+").map(rs.word).join(" + ")) || (get("method") && rs.word(get("method")).replaceAll("_", " ")) || (get("construction") && rs.word(get("construction")));
    return rs.short(id) + (more ? ", " + more : "");
  };
  function span(id) {
    const f = rs.index.get(id); if (!f) return null;
    const get = (key) => f.row[f.t[key]];
    if (f.name === "drives") return span(get("section_id"));
    if (f.name === "sections") return [get("from_chainage_m"), get("to_chainage_m")];
    return [get("chainage_m"), get("chainage_m")];
  }
  // The element at a chainage: the drive or the open cut that lies there.
  rs.at = function (m) {
    const s = rs.table_of("sections");
    const row = s.rows.find((r) => m >= r[s.from_chainage_m] && m <= r[s.to_chainage_m]) || s.rows[s.rows.length - 1];
    return rs.drive_of(row[s.section_id]);
  };

  let plan, profile, status, sheet;
  rs.mark = function (m, from) {
    rs.marked = Math.min(Math.max(m, 0), rs.corridor.answer.length_m);
    rs.marked_at = plan.mark(rs.marked);
    if (from === "profile") plan.see(rs.marked);
    if (from !== "profile") profile.mark(rs.marked);
    const v = profile.values(rs.marked), n = (z) => rs.number(z, 2);
    status.textContent = rs.fill(T.status, { at: rs.chainage(rs.marked), ground: n(v.ground), water: n(v.water), invert: n(v.invert), cover: n(v.cover), needed: n(v.needed), what: rs.name_of(rs.at(rs.marked)) });
  };
  rs.choose = function (id, zoom) {
    rs.chosen = id; plan.choose(id, zoom); profile.choose(id);
    const where = span(id);
    if (where) { if (zoom) profile.see(where[0], where[1]); rs.mark((where[0] + where[1]) / 2); }
    document.querySelectorAll("tr.chosen").forEach((r) => r.classList.remove("chosen"));
    document.querySelectorAll("tr[data-id]").forEach((r) => { if (r.dataset.id === id) r.classList.add("chosen"); });
    fillSheet(id);
    if (zoom) document.getElementById("desk").scrollIntoView({ block: "nearest" });
  };

  const link = (id, text) => el("button", { class: "name", type: "button", on: { click: () => rs.choose(id, true) } }, text || rs.name_of(id));
  function facts(f) {
    const skip = new Set(["reason", "remark"]);
    return el("dl", {}, f.t.columns.filter((c, i) => !skip.has(c.key) && f.row[i] !== null).flatMap((c) => {
      const v = f.row[f.t[c.key]], isName = c.key.endsWith("_id") && c.key !== NAMES[f.name] && rs.index.has(v);
      return [el("dt", {}, rs.label(c)), el("dd", {}, isName ? link(v) : c.key === "status" ? rs.tag(v) : rs.shown(c, v))];
    }));
  }
  function rowsAbout(name, ids, keys) {
    const t = rs.table_of(name), at = keys.map((k) => t[k]).filter((k) => k !== undefined);
    return { t, rows: t.rows.filter((row) => at.some((k) => ids.has(row[k]))) };
  }
  const RANK = { fail: 0, amber: 1, not_evaluated: 2, pass: 3 };
  function fillSheet(id) {
    const f = rs.index.get(id), parts = [el("h2", {}, rs.name_of(id))];
    if (!f) { sheet.replaceChildren(...parts); return; }
    const get = (key) => (f.t[key] === undefined ? null : f.row[f.t[key]]), ids = new Set([id]);
    if (f.name === "drives") { ids.add(get("section_id")); for (const b of rs.corridor.plan.bores) if (b.id.startsWith(id + "-")) ids.add(b.id); }
    const section = f.name === "drives" ? rs.index.get(get("section_id")) : f;
    const reason = section.t.reason === undefined ? null : section.row[section.t.reason];
    if (reason) parts.push(el("p", {}, reason));
    if (get("remark")) parts.push(el("p", {}, get("remark")));
    parts.push(facts(f));
    const may = rowsAbout("shaft_tolerance", ids, ["shaft_id"]), m = may.t;
    if (may.rows.length) parts.push(el("h3", {}, T.sheet.tolerance), el("ul", {}, may.rows.slice().reverse().map((r) => el("li", {}, rs.fill(T.sheet.stands, { percent: rs.number(r[m.extra_cost_percent], 1), eur: rs.money(r[m.extra_eur]), n: rs.number(r[m.places], 0), area: rs.number(r[m.area_m2], 0) })))), el("p", { class: "note" }, T.sheet.on_frame));
    const ways = rowsAbout("crossing_ways", ids, ["crossing_id"]);
    if (ways.rows.length) parts.push(el("h3", {}, T.sheet.ways), el("ul", {}, ways.rows.map((r) => el("li", {}, el("strong", {}, wayName(r[ways.t.way])), ": ", wayText(ways.t, r)))));
    parts.push(...otherPlans(f, ids));
    const checks = rowsAbout("checks", ids, ["element_id"]), c = checks.t;
    checks.rows.sort((a, b) => RANK[a[c.status]] - RANK[b[c.status]] || (b[c.utilisation] || 0) - (a[c.utilisation] || 0));
    if (checks.rows.length) parts.push(el("h3", {}, T.sheet.checks), checkTable(c, checks.rows));
    if (f.name === "sections" || f.name === "drives") {
      const s = rs.table_of("crossing_schedule"), own = f.name === "drives" ? get("section_id") : id;
      const met = s.rows.filter((r) => r[s.section_id] === own);
      if (met.length) parts.push(el("h3", {}, T.tables.crossing_schedule), el("ul", {}, met.map((r) => el("li", {}, link(r[s.crossing_id])))));
    }
    const bill = rowsAbout("bill", ids, ["element_id"]), b = bill.t;
    if (bill.rows.length) parts.push(el("h3", {}, T.sheet.costs), el("table", {}, el("tbody", {}, bill.rows.slice().sort((x, y) => y[b.amount_eur] - x[b.amount_eur]).map((r) =>
      el("tr", {}, el("td", {}, r[b.item]), el("td", {}, r[b.description]), el("td", { class: "n" }, rs.number(r[b.quantity], 1) + " " + rs.word(r[b.unit])), el("td", { class: "n" }, rs.money(r[b.amount_eur])))))));
    for (const [name, keys, show] of [["hazards", ["section_id", "drive_id", "shaft_id"], (t, r) => r[t.hazard] + ": " + (r[t.cause] || "") + ". " + r[t.guard]], ["agreements", ["crossing_id", "drive_id"], (t, r) => (r[t.owner] || T.none) + ": " + (r[t.to_agree] || "")], ["constraints", ["section_id", "drive_id", "shaft_id"], (t, r) => r[t.title] + ": " + (r[t.reason] || "")]]) {
      const about = rowsAbout(name, ids, keys);
      if (about.rows.length) parts.push(el("h3", {}, T.tables[name]), el("ul", {}, about.rows.map((r) => el("li", {}, show(about.t, r)))));
    }
    sheet.replaceChildren(...parts); sheet.scrollTop = 0;
  }
  // Other plans that begin to differ at this crossing, or at one that this piece of the route meets.
  function otherPlans(f, ids) {
    const s = rs.table_of("crossing_schedule"), about = new Set(ids);
    if (f.name === "sections" || f.name === "drives") {
      const own = f.row[f.t.section_id];
      for (const r of s.rows) if (r[s.section_id] === own) about.add(r[s.crossing_id]);
    }
    const { t, rows } = rowsAbout("alternatives", about, ["about_id"]);
    if (!rows.length) return [];
    const lines = rows.map((r) => {
      const id = r[t.alternative_id], measured = t.measured_extra_eur === undefined ? null : r[t.measured_extra_eur];
      const told = [rs.fill(T.sheet.other_costs, { eur: rs.money(r[t.extra_eur]) })];
      if (measured !== null) told.push(rs.fill(T.sheet.other_measured, { eur: rs.money(measured) }));
      if (t.breaches !== undefined && r[t.breaches]) told.push(rs.fill(T.sheet.other_breaches, { n: rs.number(r[t.breaches], 0) }));
      return el("li", {}, el("strong", {}, rs.short(id)), ": ", r[t.instead] + ". ", told.join("; ") + ". ", plan.has_other(id) ? drawButton(id) : null);
    });
    return [el("h3", {}, T.sheet.others), el("ul", {}, lines), el("p", { class: "note" }, T.sheet.other_note)];
  }
  function drawButton(id) {
    const b = el("button", { type: "button", class: "draw", "data-other": id, "aria-pressed": String(rs.other === id) }, T.sheet.other_draw + " " + rs.short(id));
    b.addEventListener("click", () => {
      rs.other = rs.other === id ? null : id;
      plan.other(rs.other); legendOfOther();
      document.querySelectorAll("button.draw").forEach((n) => n.setAttribute("aria-pressed", String(n.dataset.other === rs.other)));
    });
    return b;
  }
  const wayName = (way) => rs.word(way).replaceAll("_", " ");
  function wayText(t, r) {
    const extra = r[t.extra_eur];
    const head = r[t.status] === "chosen" ? rs.word("chosen") : extra !== null ? rs.fill(T.sheet.extra, { eur: rs.money(extra) }) : rs.word(r[t.status]);
    return head + (r[t.reason] ? " (" + r[t.reason] + ")" : "");
  }
  function checkTable(c, rows) {
    return el("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": T.sheet.checks }, el("table", {},
      el("thead", {}, el("tr", {}, [T.check, T.demand, T.capacity, T.used, ""].map((h) => el("th", { scope: "col" }, h)))),
      el("tbody", {}, rows.map((r) => el("tr", { title: r[c.reason] || "" }, el("td", {}, checkName(r[c.check])), el("td", { class: "n" }, unit(r[c.demand], r[c.unit])),
        el("td", { class: "n" }, unit(r[c.capacity], r[c.unit])), el("td", { class: "n" }, rs.used(r[c.utilisation])), el("td", {}, rs.tag(r[c.status])))))));
  }
  const checkName = (name) => { const w = rs.word(name); return w === name ? name.replaceAll("_", " ") : w; };
  const unit = (v, u) => (v === null ? T.none : rs.number(v, Math.abs(v) >= 1000 ? 0 : 2) + (u && u !== "-" ? " " + rs.word(u) : ""));

  function answer(a) {
    const cells = [
      [T.answer.total, rs.money(a.total_eur), rs.fill(T.answer.rates, { low: rs.number(a.low_eur, 0), high: rs.number(a.high_eur, 0) })],
      [T.answer.length, rs.number(a.length_m, 0) + " m", rs.fill(T.answer.split, { cut: rs.number(a.open_cut_m, 0), drive: rs.number(a.drive_m, 0) })],
      [T.answer.drives, rs.number(a.n_drives, 0), rs.fill(T.answer.shafts, { n: rs.number(a.n_shafts, 0), deep: rs.number(a.deepest_m, 2) })],
      [T.answer.crossings, rs.number(a.n_crossings, 0), rs.fill(T.answer.driven, { n: rs.number(a.n_driven, 0) })],
      [T.answer.checks, rs.fill(T.answer.fails, { n: rs.number(a.n_checks.fail, 0) }), rs.fill(T.answer.others, { amber: rs.number(a.n_checks.amber, 0), open: rs.number(a.n_checks.not_evaluated, 0), pass: rs.number(a.n_checks.pass, 0) })],
    ];
    return el("dl", { class: "answer" }, cells.map(([k, v, note]) => el("div", {}, el("dt", {}, k), el("dd", {}, v, el("small", {}, note)))));
  }
  // A sentence begins large, but not the name of a drive or shaft that it begins with.
  function capital(text) { return text.startsWith(rs.corridor.id + "-") ? text : text.charAt(0).toUpperCase() + text.slice(1); }
  function critical() {
    const c = rs.table_of("checks"), by = new Map(c.rows.map((r) => [r[c.check_id], r]));
    const rows = rs.corridor.answer.critical.map((id) => by.get(id)).filter(Boolean);
    return [el("h2", {}, T.critical), el("ul", {}, rows.map((r) => el("li", {}, rs.tag(r[c.status]), " ",
      rs.index.has(r[c.element_id]) ? link(r[c.element_id]) : rs.short(r[c.element_id]), ": ", checkName(r[c.check]),
      r[c.utilisation] !== null ? " (" + T.used_by + " " + rs.used(r[c.utilisation]) + ")" : "", ". ", capital(r[c.reason] || "")))), el("p", { class: "note off-paper" }, T.choose)];
  }
  function legend() {
    const items = [["M0 6h26", "#0b3c5d", 4, "9 3", T.values.drive], ["M0 6h26", "#a8651b", 3, "", T.values.open_cut], ["M13 1v10", "#5a2a82", 4, "", T.tables.shafts], ["M0 6h26", "#30363c", 1.6, "", T.profile.ground_m], ["M0 6h26", "#1d6f72", 1.2, "4 4", T.profile.groundwater_m], ["M0 6h26", "#9b1239", 1, "2 3", T.profile.required]];
    return el("ul", { class: "legend" }, [...items.map(legendItem), el("li", { id: "legend-other", hidden: true })]);
  }
  // What stands for another plan, only as long as one is drawn.
  function legendOfOther() {
    const li = document.getElementById("legend-other");
    if (!li) return;
    li.hidden = !rs.other;
    li.replaceChildren(...(rs.other ? legendItem(["M0 6h26", "#c2185b", 3, "3 5", rs.fill(T.plan.other, { id: rs.short(rs.other) })]).childNodes : []));
  }
  function legendItem([d, stroke, width, dash, text]) {
    const li = el("li"), svg = document.createElementNS("http://www.w3.org/2000/svg", "svg"), path = document.createElementNS("http://www.w3.org/2000/svg", "path");
    for (const [k, v] of Object.entries({ d, stroke, "stroke-width": width, "stroke-dasharray": dash, fill: "none" })) path.setAttribute(k, v);
    svg.setAttribute("aria-hidden", "true"); svg.append(path); li.append(svg, text); return li;
  }
  const button = (text, call) => el("button", { type: "button", on: { click: call } }, text);
  function desk() {
    const map = el("div", { class: "map", id: "plan", tabindex: "0" }), chart = el("div", { class: "chart", id: "profile" }), times = el("span", { class: "note" });
    status = el("p", { class: "status", id: "status", role: "status" }); status.style.margin = "0";
    sheet = el("aside", { class: "sheet", id: "sheet", tabindex: "0", "aria-label": T.sheet.title });
    const left = el("div", { class: "view" },
      el("div", { class: "tools" }, el("h2", {}, T.plan.title), button(T.whole, () => { plan.whole(); profile.whole(); })), map, status,
      el("div", { class: "tools" }, el("h2", {}, T.profile.title), times, button("+", () => profile.zoom(0.5)), button("\u2212", () => profile.zoom(2)), button(T.whole, () => profile.whole())), chart, legend());
    rs.on_zoom = () => requestAnimationFrame(() => { if (profile) times.textContent = rs.fill(T.profile.exaggerated, { n: rs.number(profile.exaggeration(), 0) }); });
    const box = el("div", { class: "desk", id: "desk" }, left, sheet);
    return { box, start() { plan = rs.plan(map, rs.corridor); profile = rs.profile(chart, rs.corridor); rs.mark(0); sheet.replaceChildren(...critical()); rs.on_zoom(); keys(map); keys(chart); } };
  }
  // With the keyboard: arrows move the mark, a page at a time with the page keys, Enter opens the sheet.
  function keys(node) {
    node.addEventListener("keydown", (e) => {
      const { min, max } = profile.chart.scales.x, step = (max - min) / 200;
      const by = { ArrowLeft: -step, ArrowRight: step, PageUp: -20 * step, PageDown: 20 * step }[e.key];
      if (by !== undefined) { rs.mark(rs.marked + by); plan.see(rs.marked); e.preventDefault(); e.stopPropagation(); }
      if (e.key === "Home" || e.key === "End") { rs.mark(e.key === "Home" ? 0 : Infinity); plan.see(rs.marked); e.preventDefault(); }
      if (e.key === "Enter") { rs.choose(rs.at(rs.marked)); sheet.focus(); }
    }, true);
  }
  // The bill by section and by the first letters of the items: what costs how much, where.
  function billSummary() {
    const b = rs.table_of("bill"), sums = new Map();
    for (const r of b.rows) {
      const where = r[b.section_id] || T.whole_link, cents = Math.round(r[b.amount_eur] * 100);
      sums.set(where, (sums.get(where) || 0) + cents);
    }
    let total = 0; for (const cents of sums.values()) total += cents;
    const rows = [...sums].map(([where, cents]) => el("tr", {}, el("td", {}, rs.index.has(where) ? link(where) : where), el("td", { class: "n" }, rs.number(cents / 100, 2)), el("td", { class: "n" }, rs.number(100 * cents / total, 1) + " %")));
    rows.push(el("tr", {}, el("th", { scope: "row" }, T.total), el("td", { class: "n", id: "bill-total" }, rs.number(total / 100, 2)), el("td", { class: "n" }, "")));
    return el("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": T.bill_by_section }, el("table", {}, el("thead", {}, el("tr", {}, el("th", { scope: "col" }, T.where), el("th", { scope: "col", class: "n" }, "EUR"), el("th", { scope: "col", class: "n" }, "%"))), el("tbody", {}, rows)));
  }
  const pairs = (heads, rows) => el("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": heads.join(", ") }, el("table", {}, el("thead", {}, el("tr", {}, heads.map((h) => el("th", { scope: "col" }, h)))), el("tbody", {}, rows.map((r) => el("tr", {}, r.map((v) => el("td", {}, v)))))));
  const OPEN = new Set(["crossing_schedule", "drives", "shafts"]), ON_PAPER = new Set(["sections", "crossing_schedule", "drives", "shafts"]);
  function block(id, title, content, options) {
    const o = options || {}, body = el("div");
    const d = el("details", { id, class: o.paper ? null : "screen", open: o.open }, el("summary", {}, title), body);
    const fill = () => { if (!body.childNodes.length) body.append(...[content()].flat()); };
    if (o.open) fill(); else d.addEventListener("toggle", fill);
    return { d, fill };
  }
  function blocks() {
    const c = rs.corridor, found = [];
    for (const [name, table] of Object.entries(c.tables)) {
      if (!table.rows.length) continue;
      if (name === "bill") found.push(block("bill-by-section", T.bill_by_section, () => [billSummary(), el("p", { class: "note" }, rs.fill(T.not_in_bill_is, { what: D.not_in_bill }))], { open: true, paper: true }));
      const title = T.tables[name] + " (" + rs.number(table.rows.length, 0) + ")";
      found.push(block(name, title, () => rs.table(name, table), { open: OPEN.has(name), paper: ON_PAPER.has(name) }));
    }
    if (c.differs.length) found.push(block("differs", T.differs, () => pairs([T.key, T.value, T.default], c.differs), { paper: true }));
    if (c.warnings.length) found.push(block("warnings", T.warnings + " (" + rs.number(c.warnings.length, 0) + ")", () => el("ul", {}, c.warnings.map((w) => el("li", {}, w))), { open: true, paper: true }));
    found.push(block("method", T.method, () => T.method_text.map((t) => el("p", {}, t)), { open: true, paper: true }));
    found.push(block("record", T.record, () => pairs([T.key, T.value], c.record)));
    return found;
  }
  function show(at) {
    rs.corridor = D.corridors[at]; rs.chosen = null; rs.marked = 0; index();
    const { box, start } = desk(), all = blocks();
    const still = [...document.querySelectorAll("#stills .stills")][at];
    const nav = el("nav", { "aria-label": T.contents }, el("ul", {}, all.map(({ d, fill }) => el("li", {}, el("a", { href: "#" + d.id, on: { click: () => { d.open = true; fill(); } } }, d.querySelector("summary").textContent)))));
    const paper = el("div", { class: "paper" }); if (still) paper.append(still.cloneNode(true));
    const critics = el("div", { class: "paper" }, critical());
    main.replaceChildren(answer(rs.corridor.answer), critics, box, paper, nav, ...all.map(({ d }) => d));
    start();
    rs.before_print = () => all.forEach(({ d, fill }) => { if (!d.classList.contains("screen")) { fill(); d.open = true; d.querySelectorAll("button.more").forEach((b) => { if (!b.hidden) b.click(); }); } });
  }
  window.addEventListener("beforeprint", () => rs.before_print());

  const head = document.getElementById("head"), names = D.corridors.map((c) => c.id);
  head.append(el("h1", {}, T.title + (names.length === 1 ? ": " + names[0] : "")));
  if (names.length > 1) head.append(el("label", {}, T.corridor + " ", el("select", { on: { change: (e) => show(e.target.selectedIndex) } }, names.map((n) => el("option", {}, n)))));
  head.append(el("p", {}, rs.fill(T.made, { at: new Date(D.made).toLocaleString(D.language, { dateStyle: "long", timeStyle: "short", timeZone: "UTC" }) + " UTC", version: D.version, crs: D.crs })));
  show(0);
  window.__ready = true;
})();
