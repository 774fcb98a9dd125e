"use strict";
/* This file makes the table of all coupons, sorted by any column, and the ranking at equal mass. */

function figureCell(figure, row) {
  if (!figure.count) {
    return make("td", {class: "number none"}, row.failed === row.seeds ? "no result" : figure.words || "not reached");
  }
  const half = (figure.high - figure.low) / 2;
  const spread = figure.count > 1 ? ` ±\u00a0${spreadText(half, figure.median)}` : "";
  const cell = make("td", {class: "number"}, figureText(figure.median), make("small", {}, spread));
  if (figure.words) cell.append(make("small", {class: "none"}, ` (${figure.words})`));
  if (figure.count < row.seeds) {
    cell.append(make("small", {class: "none"}, ` (${figure.count} of ${row.seeds})`));
  }
  return cell;
}

function seedsText(row) {
  const parts = [String(row.seeds)];
  if (row.failed) parts.push(`${row.failed} failed`);
  if (row.ended_early) parts.push(`${row.ended_early} ended early`);
  return parts.join(", ");
}

function tableColumns(data) {
  const columns = [
    {head: "coupon", doc: "what is different between the coupons",
      key: (row) => row.label, cell: (row) => labelCell(row, data)},
    {head: "seeds", doc: "flaw seeds pressed", key: (row) => row.seeds,
      cell: (row) => make("td", {class: "number"}, seedsText(row))},
  ];
  data.columns.forEach((column, k) => columns.push({
    head: column.name, unit: column.unit, doc: column.doc,
    key: (row) => row.figures[k].count ? row.figures[k].median : null,
    cell: (row) => figureCell(row.figures[k], row),
  }));
  return columns;
}

function labelCell(row, data) {
  const cell = make("th", {scope: "row"});
  const shown = data.states.findIndex((state) => data.rows[state.row] === row);
  if (shown < 0) cell.append(unbroken(row.label));
  else cell.append(make("a", {href: `#state-${shown}`}, unbroken(row.label)));
  return cell;
}

/* Sort numbers by size, names by their parts ("9 %" before "10 %"); figures that are not reached come last in either order. */
function compareKeys(a, b, direction) {
  if (a === null || b === null) return (a === null) - (b === null);
  const order = typeof a === "number" ? a - b : a.localeCompare(b, "en", {numeric: true});
  return direction * order;
}

function sortTable(table, columns, rows, k, direction) {
  const sorted = rows.map((row, i) => ({row, i}));
  sorted.sort((p, q) =>
    compareKeys(columns[k].key(p.row), columns[k].key(q.row), direction) || p.i - q.i);
  table.tBodies[0].append(...sorted.map((one) => one.row.element));
  [...table.tHead.rows[0].cells].forEach((cell, i) => {
    cell.setAttribute("aria-sort",
      i !== k ? "none" : direction > 0 ? "ascending" : "descending");
  });
}

/* Show the rows whose name holds every word of the filter, and tell the charts that follow it. Returns the number of rows. */
function filterRows(data, text) {
  const words = text.toLowerCase().split(/\s+/).filter((word) => word);
  let count = 0;
  for (const row of data.rows) {
    const label = row.label.toLowerCase();
    row.hidden = !words.every((word) => label.includes(word));
    row.element.hidden = row.hidden;
    count += row.hidden ? 0 : 1;
  }
  document.dispatchEvent(new Event("filtered"));
  return count;
}

function headCell(column, onSort) {
  const button = make("button", {type: "button", title: column.doc}, inWords(column.head));
  button.append(make("span", {class: "arrow", "aria-hidden": "true"}));
  if (column.unit && column.unit !== "-") {
    button.append(make("small", {class: "unit"}, ` ${column.unit}`));
  }
  button.addEventListener("click", onSort);
  return make("th", {scope: "col", "aria-sort": "none"}, button);
}

function drawTable(section, data) {
  const columns = tableColumns(data);
  const fitting = 8; /* columns whose spreads fit beside their medians */
  const table = make("table", {id: "coupons", class: columns.length > fitting ? "wide" : ""},
    make("thead", {}, make("tr", {})), make("tbody"));
  const said = make("p", {class: "hidden", role: "status"});
  columns.forEach((column, k) => {
    const head = headCell(column, () => {
      const up = head.getAttribute("aria-sort") !== "ascending";
      sortTable(table, columns, data.rows, k, up ? 1 : -1);
      said.textContent = `sorted by ${inWords(column.head)}, ${up ? "smallest" : "largest"} first`;
    });
    table.tHead.rows[0].append(head);
  });
  for (const row of data.rows) {
    row.element = make("tr", {}, ...columns.map((column) => column.cell(row)));
    table.tBodies[0].append(row.element);
  }
  const filter = make("input", {type: "search", id: "filter", autocomplete: "off", "aria-describedby": "filter-help"});
  filter.addEventListener("input", () => {
    const count = filterRows(data, filter.value);
    said.textContent = `${count} of ${data.rows.length} coupons shown`;
    shown.textContent = filter.value.trim() ? said.textContent : "";
  });
  const shown = make("span", {class: "note"});
  section.append(
    make("p", {class: "controls"}, make("label", {for: "filter"}, "Filter"), filter,
      make("span", {class: "note", id: "filter-help"}, "parts of names, such as: square 12 %"), shown),
    make("p", {}, data.rows.some((row) => row.seeds > 1)
      ? "Each row is one coupon: the median over its flaw seeds ± half of largest − smallest. " : "Each row is one coupon. ",
      "Columns sort at a press of their heads. A linked name leads to its deformed states."),
    make("div", {class: "scroll", tabindex: "0", role: "region", "aria-label": "table of coupons"}, table),
    said);
  if (data.rows_left_out) {
    section.append(make("p", {class: "caution"},
      `${data.rows_left_out} more coupons are in the store and left out here.`));
  }
  section.append(make("details", {}, make("summary", {}, "What the columns mean"),
    make("dl", {}, ...data.columns.flatMap((column) =>
      [make("dt", {}, `${inWords(column.name)} [${column.unit}], `, breakable(column.name)), make("dd", {}, column.doc)]))));
}

function drawRanking(section, data) {
  const ranking = data.ranking;
  if (ranking.mass_g === null || ranking.rows.length < 2) return;
  const list = make("ol", {class: "ranking"});
  for (const row of ranking.rows) {
    if (row.value === null) continue;
    list.append(make("li", {}, `${unbroken(row.label)}: `,
      make("strong", {}, `${numberText(row.value)} ${ranking.unit}`)));
  }
  section.append(make("h3", {}, "At equal mass"),
    make("p", {}, inWords(ranking.measure), ` at ${numberText(ranking.mass_g)} g, the largest first, between `,
      "the neighbouring densities; nothing is extrapolated."), list);
  const others = ranking.rows.filter((row) => row.value === null);
  if (others.length) {
    section.append(make("p", {class: "note"}, "Not ranked: ",
      others.map((row) => `${row.label} (${row.words})`).join("; "), "."));
  }
}
