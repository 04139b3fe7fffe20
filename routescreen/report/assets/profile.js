"use strict";
// The long section: levels along the alignment, drives shaded, shafts and crossings marked, linked with the plan.
(function () {
  rs.profile = function (node, corridor) {
    const p = corridor.profile, T = rs.data.texts.profile;
    const x = p.along.map((v) => v / 10), level = (list) => list.map((v) => (v === null ? null : v / 100));
    const ground = level(p.ground_m), invert = level(p.invert_m), water = level(p.groundwater_m), cover = level(p.cover_m), needed = level(p.required_cover_m);
    const cut = invert.map((v, i) => (p.is_drive[i] ? null : v)), drive = invert.map((v, i) => (p.is_drive[i] ? v : null));
    const crown = ground.map((v, i) => (p.is_drive[i] && v !== null && cover[i] !== null ? v - cover[i] : null));
    const least = ground.map((v, i) => (p.is_drive[i] && v !== null && needed[i] !== null ? v - needed[i] : null));
    const sections = rs.table_of("sections"), shafts = rs.table_of("shafts"), crossings = rs.table_of("crossing_schedule");
    let chosen = null, from_plan = false;

    function bands(u) {
      const c = u.ctx, top = u.bbox.top, h = u.bbox.height, px = (m) => u.valToPos(m, "x", true);
      c.save(); c.beginPath(); c.rect(u.bbox.left, top, u.bbox.width, h); c.clip();
      for (const row of sections.rows) {
        const a = px(row[sections.from_chainage_m]), b = px(row[sections.to_chainage_m]), id = row[sections.section_id];
        if (row[sections.construction] === "drive") { c.fillStyle = "rgba(11,60,93,.09)"; c.fillRect(a, top, Math.max(b - a, 1), h); }
        if (chosen && (chosen === id || chosen === rs.drive_of(id))) { c.fillStyle = "rgba(224,161,0,.22)"; c.fillRect(a, top, Math.max(b - a, 2), h); }
      }
      c.restore();
    }
    function signs(u) {
      const c = u.ctx, top = u.bbox.top, h = u.bbox.height, ratio = devicePixelRatio || 1;
      c.save(); c.beginPath(); c.rect(u.bbox.left, top - 14 * ratio, u.bbox.width, h + 14 * ratio); c.clip();
      for (const row of shafts.rows) {
        const at = u.valToPos(row[shafts.chainage_m], "x", true), g = value(x, ground, row[shafts.chainage_m]);
        const y0 = u.valToPos(g, "y", true), y1 = u.valToPos(g - row[shafts.depth_m], "y", true), is = chosen === row[shafts.shaft_id];
        c.strokeStyle = is ? "#d08a00" : "#5a2a82"; c.lineWidth = (is ? 5 : 3) * ratio;
        c.beginPath(); c.moveTo(at, y0); c.lineTo(at, y1); c.stroke();
      }
      const span = u.scales.x.max - u.scales.x.min, few = crossings.rows.length && span < 60000;
      if (few) for (const row of crossings.rows) {
        const at = u.valToPos(row[crossings.chainage_m], "x", true), is = chosen === row[crossings.crossing_id];
        c.fillStyle = is ? "#d08a00" : row[crossings.treatment] === "trenchless" ? "#0b3c5d" : "#a8651b";
        c.beginPath(); const s = (is ? 6 : 4) * ratio, y = top - 2 * ratio;
        c.moveTo(at - s, y - 2 * s); c.lineTo(at + s, y - 2 * s); c.lineTo(at, y); c.fill();
      }
      c.restore();
    }
    const line = (label, stroke, width, dash) => ({ label, stroke, width, dash, points: { show: false }, spanGaps: false });
    const chart = new uPlot({
      width: Math.max(node.clientWidth, 320), height: node.clientHeight, padding: [18, 26, 0, 0], legend: { show: false },
      cursor: { drag: { x: true, y: false }, points: { show: false }, y: false, focus: { prox: -1 } },
      scales: { x: { time: false } },
      axes: [{ values: (u, v) => v.map((m) => rs.chainage(m).replace(/[.,]0$/, "")), grid: { stroke: "#e3e6e9" }, space: 90, font: "12px sans-serif" },
        { grid: { stroke: "#e3e6e9" }, size: 54, label: T.level, labelSize: 18, font: "12px sans-serif", labelFont: "12px sans-serif", values: (u, v, axis, space, step) => v.map((z) => rs.number(z, decimals(step))) }],
      series: [{}, line(T.ground_m, "#30363c", 1.6), line(T.groundwater_m, "#1d6f72", 1.1, [4, 4]), line(T.required, "#9b1239", 1, [2, 3]),
        line(T.open_cut, "#a8651b", 1.6), line(T.drive, "#0b3c5d", 2.2), line(T.crown, "#0b3c5d", 1)],
      hooks: {
        drawClear: [bands], draw: [signs],
        setCursor: [(u) => { if (!from_plan && u.cursor.idx !== null && u.cursor.left >= 0) rs.mark(u.posToVal(u.cursor.left, "x"), "profile"); }],
        setScale: [(u, key) => { if (key === "x" && rs.on_zoom) rs.on_zoom(u.scales.x.min, u.scales.x.max); }],
      },
    }, [x, ground, water, least, cut, drive, crown], node);
    node.setAttribute("role", "group"); node.setAttribute("aria-label", T.help); node.tabIndex = 0;
    new ResizeObserver(() => chart.setSize({ width: Math.max(node.clientWidth, 320), height: node.clientHeight })).observe(node);
    chart.over.addEventListener("click", (e) => { if (Math.abs((e.offsetX || 0) - chart.cursor.left) < 3) rs.choose(rs.at(chart.posToVal(e.offsetX, "x"))); });
    const end = x[x.length - 1];
    function zoom(factor, about) {
      const { min, max } = chart.scales.x, m = about === undefined ? rs.marked : about;
      const half = Math.min(Math.max((max - min) * factor / 2, 10), end / 2), middle = Math.min(Math.max(m, half), end - half);
      chart.setScale("x", { min: middle - half, max: middle + half });
    }
    return {
      chart, zoom,
      whole: () => chart.setScale("x", { min: 0, max: end }),
      see(from, to) { const pad = Math.max((to - from) * 0.4, 60); chart.setScale("x", { min: Math.max(from - pad, 0), max: Math.min(to + pad, end) }); },
      mark(m) {
        from_plan = true; chart.setCursor({ left: chart.valToPos(m, "x"), top: 10 }, false); from_plan = false;
      },
      choose(id) { chosen = id; chart.redraw(false); },
      values: (m) => ({ ground: value(x, ground, m), invert: value(x, invert, m), cover: value(x, cover, m), needed: value(x, needed, m), water: value(x, water, m) }),
      exaggeration: () => (chart.bbox.height / (chart.scales.y.max - chart.scales.y.min)) / (chart.bbox.width / (chart.scales.x.max - chart.scales.x.min)),
    };
  };

  // As many decimals as tell neighbouring ticks apart: 2.5 needs one.
  function decimals(step) { let n = 0; while (n < 3 && Math.abs(step * 10 ** n - Math.round(step * 10 ** n)) > 1e-6) n++; return n; }

  // The value at a chainage, on the straight between both neighbours; nothing where one of them has none.
  function value(x, list, m) {
    let low = 0, high = x.length - 1;
    while (high - low > 1) { const mid = (low + high) >> 1; if (x[mid] <= m) low = mid; else high = mid; }
    if (list[low] === null || list[high] === null) return list[low] === null ? list[high] : list[low];
    const t = x[high] > x[low] ? Math.min(Math.max((m - x[low]) / (x[high] - x[low]), 0), 1) : 0;
    return list[low] + t * (list[high] - list[low]);
  }
})();
