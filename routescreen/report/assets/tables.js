"use strict";
// Tables that sort, filter and copy out; all text goes in as text, never as markup.
var rs = { data: JSON.parse(document.getElementById("data").textContent) };
(function () {
  const T = rs.data.texts, MOST_ROWS = 200;

  const APART = /(\d) (?=\d{3}(?!\d)|(?:m|m2|m3|km|mm|EUR|kN|kPa|A|deg|%|h|t)(?![\w\u00c0-\u024f]))/g;
  const together = (text) => text.replace(APART, "$1\u00a0");  // a number and its unit break over no line
  rs.el = function (tag, attributes, ...children) {
    const node = document.createElement(tag);
    for (const [key, value] of Object.entries(attributes || {})) {
      if (key === "on") { for (const [event, call] of Object.entries(value)) node.addEventListener(event, call); }
      else if (value !== null && value !== undefined && value !== false) node.setAttribute(key, value === true ? "" : value);
    }
    for (const child of children.flat()) if (child !== null && child !== undefined) node.append(typeof child === "string" ? together(child) : child);
    return node;
  };
  const formats = {};
  // As in the sentences: in every language thousands apart by a space, one that doesn't break, from five digits on.
  rs.number = function (value, digits) {
    if (value === null || value === undefined) return T.none;
    const f = formats[digits] || (formats[digits] = new Intl.NumberFormat(rs.data.language,
      { minimumFractionDigits: digits, maximumFractionDigits: digits, useGrouping: "min2" }));
    return f.formatToParts(value).map((part) => (part.type === "group" ? "\u00a0" : part.value)).join("");
  };
  rs.money = (value) => rs.number(value, 0) + " EUR";
  rs.chainage = function (m) {  // 1+234.5: kilometres, metres
    const km = Math.floor(m / 1000 + 1e-9), rest = m - km * 1000;
    return km + "+" + (rest < 99.95 ? (rest < 9.95 ? "00" : "0") : "") + rs.number(rest, 1);
  };
  rs.fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, key) => values[key]);
  rs.word = (value) => (T.values[value] !== undefined ? T.values[value] : value);
  rs.label = (column) => (T.columns[column.key] !== undefined ? T.columns[column.key] : column.label);
  rs.tag = (status) => rs.el("span", { class: "tag " + status }, rs.word(status));
  rs.short = (id) => { const c = rs.corridor.id; return id.startsWith(c + "-") ? id.slice(c.length + 1) : id; };

  const WORDED = new Set(["construction", "treatment", "status", "role", "kind", "way", "state", "confidence", "check", "constraint", "carried_by", "cover", "method", "works", "part", "limit", "binds", "monitoring", "unit", "drum_at", "governed_by", "cable", "passage", "fill"]);
  const LONG = new Set(["reason", "remark", "cause", "guard", "to_agree", "tests", "description", "width_rule", "monitoring", "source"]);
  // What goes on paper of tables that are wider than a page.
  const PAPER = {
    crossing_schedule: ["crossing_id", "kind", "name", "chainage_m", "width_m", "angle_deg", "treatment", "section_id", "cover_m", "required_cover_m", "extra_if_otherwise_eur"],
    drives: ["drive_id", "method", "launch_shaft_id", "reception_shaft_id", "length_m", "grade_percent", "bores", "cover_min_m", "thrust_utilisation", "pull_in_utilisation", "status", "amount_eur"],
    shafts: ["shaft_id", "role", "chainage_m", "offset_m", "depth_m", "amount_eur", "move_along_back_m", "move_along_on_m", "move_left_m", "move_right_m", "reason"],
  };
  // A check without any capacity is used without bounds; a figure of thousands would only look exact.
  rs.used = (value) => (value !== null && value > 999 ? "> " + rs.number(999, 0) : rs.number(value, 2));
  rs.shown = function (column, value) {
    if (value === null) return T.none;
    if (column.key === "utilisation") return rs.used(value);
    if (column.type === "number") return column.key.endsWith("chainage_m") ? rs.chainage(value) : rs.number(value, column.digits);
    if (column.key === "role") return value.split("+").map(rs.word).join(" + ");
    if (WORDED.has(column.key)) { const w = rs.word(value); return w === value ? value.replaceAll("_", " ") : w; }
    return value;
  };

  const classes = (name, column) => [column.type === "number" ? "n" : "", LONG.has(column.key) ? "long" : "", PAPER[name] && !PAPER[name].includes(column.key) ? "off-paper" : ""].join(" ").trim() || null;
  function cell(name, column, value) {
    const made = plainCell(column, value), look = classes(name, column);
    if (look) made.className = look;
    return made;
  }
  function plainCell(column, value) {
    const is = column.type === "number";
    if (column.key === "status") return rs.el("td", {}, rs.tag(value));
    if (value !== null && !is && column.key.endsWith("_id") && rs.index.has(value))
      return rs.el("td", {}, rs.el("button", { class: "name", type: "button", on: { click: () => rs.choose(value, true) } }, rs.short(value)));
    return rs.el("td", {}, is || column.key !== "check_id" ? rs.shown(column, value) : rs.short(value));
  }

  // A table of one result layer with its tools; `keep` says which rows go on paper too.
  rs.table = function (name, table, options) {
    const o = options || {}, columns = table.columns, state = { by: -1, down: false, text: "", all: false };
    const ids = columns.findIndex((c) => c.key.endsWith("_id"));
    const body = rs.el("tbody"), told = rs.el("span", { class: "note", role: "status" });
    const n_long = columns.filter((column) => LONG.has(column.key) && !classes(name, column).includes("off-paper")).length;
    const more = rs.el("button", { type: "button", class: "more", on: { click: () => { state.all = true; draw(); } } }, T.show_all);
    const heads = columns.map((column, at) => rs.el("th", { class: classes(name, column), scope: "col", title: rs.data.language === "en" ? column.meaning : null },
      rs.el("button", { type: "button", on: { click: () => { state.down = state.by === at && !state.down; state.by = at; draw(); } } }, rs.label(column)),
      rs.el("span", { class: "printed" }, rs.label(column))));  // a browser repeats text on the next sheet of paper, but no buttons
    const filter = rs.el("input", { type: "search", "aria-label": T.filter + ": " + T.tables[name], placeholder: T.filter, on: { input: (e) => { state.text = e.target.value.toLowerCase(); draw(); } } });
    const copy = rs.el("button", { type: "button", class: "copy", on: { click: () => copyOut(picked()) } }, T.copy);
    function picked() {
      let rows = table.rows;
      if (state.text) {
        const words = state.text.split(/\s+/).filter(Boolean);
        rows = rows.filter((row) => {
          const line = row.map((v, i) => (v === null ? "" : rs.shown(columns[i], v) + " " + v)).join(" ").toLowerCase();
          return words.every((w) => line.includes(w));
        });
      }
      if (state.by >= 0) {
        const at = state.by, sign = state.down ? -1 : 1, isNumber = columns[at].type === "number";
        const order = new Intl.Collator(rs.data.language, { numeric: true });
        rows = rows.slice().sort((a, b) => {
          if (a[at] === null || b[at] === null) return (a[at] === null) - (b[at] === null);  // what isn't known comes last
          return sign * (isNumber ? a[at] - b[at] : order.compare(rs.shown(columns[at], a[at]), rs.shown(columns[at], b[at])));
        });
      }
      return rows;
    }
    function draw() {
      const rows = picked(), shown = state.all ? rows : rows.slice(0, MOST_ROWS);
      body.replaceChildren(...shown.map((row) => rs.el("tr", { "data-id": ids >= 0 ? row[ids] : null }, row.map((v, i) => cell(name, columns[i], v)))));
      heads.forEach((h, i) => h.setAttribute("aria-sort", i !== state.by ? "none" : state.down ? "descending" : "ascending"));
      more.hidden = shown.length === rows.length;
      told.textContent = rs.fill(T.rows_shown, { n: rs.number(shown.length, 0), all: rs.number(table.rows.length, 0) });
    }
    function copyOut(rows) {
      const text = [columns.map((c) => c.key).join("\t"), ...rows.map((row) => row.map((v) => (v === null ? "" : String(v).replace(/[\t\r\n]+/g, " "))).map(harmless).join("\t"))].join("\n");
      rs.copy(text, () => { told.textContent = rs.fill(T.copied, { n: rs.number(rows.length, 0) }); });
    }
    draw();
    return rs.el("div", {}, rs.el("div", { class: "tools" }, filter, copy, told),
      rs.el("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": T.tables[name] },
        rs.el("table", { class: n_long === 1 ? "lone" : null }, o.caption ? rs.el("caption", {}, o.caption) : null, rs.el("thead", {}, rs.el("tr", {}, heads)), body)), more);
  };
  // A spreadsheet would run what begins like a formula: an apostrophe makes it text.
  const harmless = (text) => (/^[=+\-@\t\r]/.test(text) && !/^-?[\d.]+(e[+-]?\d+)?$/i.test(text) ? "'" + text : text);

  rs.copy = function (text, done) {
    const old = () => {
      const area = rs.el("textarea", { "aria-hidden": "true", style: "position:fixed;left:-99rem" });
      area.value = text; document.body.append(area); area.select();
      document.execCommand("copy"); area.remove(); done();
    };
    if (navigator.clipboard && window.isSecureContext) navigator.clipboard.writeText(text).then(done, old); else old();
  };
})();
