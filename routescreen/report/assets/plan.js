"use strict";
// The plan: what lies in the corridor, the works, and the mark that runs along the alignment.
(function () {
  const LOOKS = {
    area: { weight: 0.8, color: "#8d949b", fillColor: "#cfd4d0", fillOpacity: 0.5 },
    water: { weight: 1, color: "#4d7f8f", fillColor: "#bfd9de", fillOpacity: 0.8 },
    green: { weight: 0.6, color: "#7d9170", fillColor: "#d5dfc8", fillOpacity: 0.7 },
    built: { weight: 0.8, color: "#8b7468", fillColor: "#dccdc2", fillOpacity: 0.9 },
    road: { weight: 1.6, color: "#7d6a55" }, rail: { weight: 2, color: "#3c3c3c", dashArray: "7 4" },
    service: { weight: 1, color: "#7d5a8c", dashArray: "2 3" }, line: { weight: 1, color: "#8d949b" },
  };
  const GROUPS = {
    water: ["river", "stream", "ditch", "canal", "lake", "wetland"], rail: ["railway", "tram"],
    road: ["motorway", "main_road", "road", "track", "path"], built: ["building", "landfill", "contaminated_ground", "graveyard", "wind_turbine"],
    green: ["forest", "protected_area", "water_protection_area", "hedge", "archaeological_site"],
    service: ["gas_pipeline", "pipeline", "water_main", "sewer", "power_cable", "power_line", "telecom", "heat_pipe"],
  };
  const groupOf = {};
  for (const [group, kinds] of Object.entries(GROUPS)) for (const kind of kinds) groupOf[kind] = group;

  // Flat differences to points of the map, [north, east] in metres from the origin.
  function points(chain, per) {
    const out = []; let x = 0, y = 0;
    for (let i = 0; i < chain.length; i += 2) { x += chain[i]; y += chain[i + 1]; out.push([y / per, x / per]); }
    return out;
  }

  rs.plan = function (node, corridor) {
    const p = corridor.plan, per = p.per_m, T = rs.data.texts;
    const map = L.map(node, { crs: L.CRS.Simple, preferCanvas: true, minZoom: -9, maxZoom: 5, zoomSnap: 0.25, attributionControl: false, keyboardPanDelta: 60, zoomAnimation: false, fadeAnimation: false });
    node.setAttribute("role", "group"); node.setAttribute("aria-label", T.plan.help);
    const line = points(p.alignment, per), along = p.along.map((v) => v / per);
    const chains = (shape) => shape.at.map((c) => points(c, per));
    const shapes = new Map();   // by the name of an element, to light it up
    const put = (id, layer) => { if (!shapes.has(id)) shapes.set(id, []); shapes.get(id).push(layer); return layer; };
    const text = (s) => { const d = document.createElement("span"); d.textContent = s; return d; };

    for (const outline of p.outline) L.polyline([...points(outline, per)], { color: "#30363c", weight: 1.2, dashArray: "9 5", interactive: false }).addTo(map);
    for (const f of p.features) {
      const group = groupOf[f.kind] || (f.form === "area" ? "area" : "line"), look = LOOKS[group];
      const told = (f.name ? f.name + ", " : "") + rs.word(f.kind).replaceAll("_", " ");
      let layer;
      if (f.form === "area") layer = L.polygon(chains(f), Object.assign({}, LOOKS.area, look.fillColor ? look : { color: look.color }));
      else if (f.form === "line") layer = L.polyline(chains(f), look);
      else layer = L.circleMarker(points(f.at[0], per)[0], { radius: 3, weight: 1, color: "#5b6168" });
      layer.bindTooltip(text(told), { sticky: true }).addTo(map);
    }
    for (const c of p.compounds) put(c.id, L.polygon(chains(c), { weight: 1, color: "#5a2a82", fillColor: "#b9a3cf", fillOpacity: 0.55 })).addTo(map);
    for (const s of p.layout_strips) put(s.id, L.polygon(chains(s), { weight: 1, color: "#1d6f72", dashArray: "5 3", fillColor: "#cfe6e3", fillOpacity: 0.6 })).addTo(map);

    const at = rs.table_of("sections");
    for (const row of at.rows) {
      const id = row[at.section_id], isDrive = row[at.construction] === "drive";
      const piece = cut(line, along, row[at.from_chainage_m], row[at.to_chainage_m]);
      L.polyline(piece, { color: "#ffffff", weight: isDrive ? 8 : 6, interactive: false, lineCap: "butt" }).addTo(map);
      const drawn = L.polyline(piece, isDrive ? { color: "#0b3c5d", weight: 5, dashArray: "11 4", lineCap: "butt" } : { color: "#a8651b", weight: 3 });
      drawn.on("click", () => rs.choose(isDrive ? rs.drive_of(id) : id)); put(id, drawn).addTo(map);
      if (isDrive) put(rs.drive_of(id), drawn);
    }
    const bores = L.layerGroup(p.bores.map((b) => L.polyline(chains(b), { color: "#0b3c5d", weight: 1, interactive: false })));
    const crossings = L.layerGroup(p.crossings.map((c) => {
      const m = L.circleMarker(points(c.at[0], per)[0], { radius: 4, weight: 1.5, color: c.look === "trenchless" ? "#0b3c5d" : "#a8651b", fillColor: "#fff", fillOpacity: 1 });
      m.bindTooltip(text(rs.name_of(c.id))).on("click", () => rs.choose(c.id)); return put(c.id, m);
    }));
    // widest first: where a shaft may stand for less lies within, and is the darker
    for (const a of p.shaft_tolerance) L.polygon(chains(a), { weight: 1, color: "#8a2f63", fillColor: "#e3b7d0", fillOpacity: 0.3 }).on("click", () => rs.choose(a.id)).addTo(map);
    for (const s of p.shafts) {
      const where = points(s.at[0], per)[0], isLaunch = s.look.includes("launch");
      const m = L.circleMarker(where, { radius: s.look.includes("+") ? 8 : 6, weight: 2.5, color: "#5a2a82", fillColor: isLaunch ? "#5a2a82" : "#fff", fillOpacity: 1 });
      m.bindTooltip(text(rs.name_of(s.id))).on("click", () => rs.choose(s.id)); put(s.id, m).addTo(map);
    }
    for (const b of p.joint_bays) put(b.id, L.circleMarker(points(b.at[0], per)[0], { radius: 4, weight: 1.5, color: "#fff", fillColor: "#1d6f72", fillOpacity: 1 })
      .bindTooltip(text(rs.short(b.id))).on("click", () => rs.choose(b.id))).addTo(map);
    const detail = () => {
      const z = map.getZoom();
      for (const [group, from] of [[bores, 0], [crossings, -5.5]]) if (z >= from) group.addTo(map); else group.remove();
    };
    map.on("zoomend", detail);

    const mark = L.circleMarker(line[0], { radius: 7, weight: 3, color: "#111", fillColor: "#ffd34d", fillOpacity: 1, interactive: false });
    const whole = () => map.fitBounds(L.latLngBounds(p.outline.length ? points(p.outline[0], per) : line), { padding: [12, 12] });
    whole(); detail();
    map.on("mousemove", (e) => rs.mark(nearest(line, along, [e.latlng.lat, e.latlng.lng])));
    let lit = [], drawn = null;
    const others = new Map(p.alternatives.map((a) => [a.id, a]));
    return {
      // One other plan at a time, beneath what it is held against; no name takes it away again.
      other(id) {
        if (drawn) { drawn.remove(); drawn = null; }
        if (!others.has(id)) return;
        drawn = L.polyline(chains(others.get(id)), { color: "#c2185b", weight: 4, dashArray: "3 7", lineCap: "round" }).bindTooltip(text(rs.short(id)), { sticky: true }).addTo(map);
        drawn.bringToBack();
      },
      has_other: (id) => others.has(id),
      whole,
      mark(m) {
        const here = place(line, along, m); mark.setLatLng(here).addTo(map);
        return here;
      },
      see(m) { const here = place(line, along, m); if (!map.getBounds().pad(-0.08).contains(here)) map.panTo(here, { animate: false }); },
      choose(id, zoom) {
        for (const [layer, style] of lit) layer.setStyle(style);
        lit = (shapes.get(id) || []).map((layer) => [layer, { color: layer.options.color, weight: layer.options.weight }]);
        for (const [layer, style] of lit) layer.setStyle({ color: "#d08a00", weight: style.weight + 2 });
        if (lit.length && zoom) {
          const bounds = lit.map(([l]) => (l.getBounds ? l.getBounds() : L.latLngBounds([l.getLatLng()]))).reduce((a, b) => a.extend(b));
          map.fitBounds(bounds.pad(0.6), { maxZoom: 0.5, animate: false });
        }
      },
      map,
    };
  };

  function place(line, along, m) {
    let low = 0, high = along.length - 1;
    while (high - low > 1) { const mid = (low + high) >> 1; if (along[mid] <= m) low = mid; else high = mid; }
    const t = Math.min(Math.max((m - along[low]) / Math.max(along[high] - along[low], 1e-9), 0), 1);
    return [line[low][0] + t * (line[high][0] - line[low][0]), line[low][1] + t * (line[high][1] - line[low][1])];
  }
  function cut(line, along, from, to) {
    const piece = [place(line, along, from)];
    for (let i = 0; i < along.length; i++) if (along[i] > from + 1e-6 && along[i] < to - 1e-6) piece.push(line[i]);
    piece.push(place(line, along, to));
    return piece;
  }
  function nearest(line, along, at) {
    let best = Infinity, m = 0;
    for (let i = 1; i < line.length; i++) {
      const a = line[i - 1], dy = line[i][0] - a[0], dx = line[i][1] - a[1], q = dx * dx + dy * dy;
      const t = q > 0 ? Math.min(Math.max(((at[0] - a[0]) * dy + (at[1] - a[1]) * dx) / q, 0), 1) : 0;
      const ey = at[0] - a[0] - t * dy, ex = at[1] - a[1] - t * dx, d = ex * ex + ey * ey;
      if (d < best) { best = d; m = along[i - 1] + t * (along[i] - along[i - 1]); }
    }
    return m;
  }
})();
