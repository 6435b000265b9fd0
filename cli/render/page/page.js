"use strict";
(function () {
  const root = document.documentElement;
  root.classList.add("js");

  // The state that the diagram shows.
  function show(state) {
    for (const group of document.querySelectorAll(".in-state"))
      group.classList.toggle("off", group.dataset.state !== state);
  }
  for (const input of document.querySelectorAll("input[name=state]")) {
    input.addEventListener("change", function () { show(input.value); });
    if (input.checked) show(input.value);
  }

  // The diagram as wide as the page, or in its own size where that is more.
  const diagram = document.querySelector(".diagram");
  const full_size = document.getElementById("full-size");
  if (diagram && full_size) {
    const own_width = Number(diagram.getAttribute("viewBox").split(" ")[2]);
    const offer = function () {
      full_size.hidden = !diagram.classList.contains("full-size") &&
        diagram.parentElement.clientWidth >= own_width;
    };
    full_size.addEventListener("click", function () {
      const is_full = diagram.classList.toggle("full-size");
      full_size.setAttribute("aria-pressed", String(is_full));
    });
    window.addEventListener("resize", offer);
    offer();
  }

  // Light or dark, by the button else as the screen is.
  const scheme = document.getElementById("scheme");
  if (scheme) scheme.addEventListener("click", function () {
    const is_dark = root.dataset.scheme ? root.dataset.scheme === "dark"
      : window.matchMedia("(prefers-color-scheme: dark)").matches;
    root.dataset.scheme = is_dark ? "light" : "dark";
  });

  // Tables are sorted by the button in a column's head: up, then down.
  function value_of(row, column) {
    const cell = row.cells[column];
    const number = cell.dataset.value;
    return number === undefined ? cell.textContent : Number(number);
  }
  function compare(a, b) {
    if (typeof a === "number" && typeof b === "number") return a - b;
    if (typeof a === "number") return -1;
    if (typeof b === "number") return 1;
    return a < b ? -1 : a > b ? 1 : 0;
  }
  for (const head of document.querySelectorAll("table.sortable thead th")) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent;
    head.textContent = "";
    head.appendChild(button);
    button.addEventListener("click", function () {
      const table = head.closest("table");
      const body = table.tBodies[0];
      const is_up = head.getAttribute("aria-sort") !== "ascending";
      const column = head.cellIndex;
      const rows = Array.from(body.rows).map(function (row, k) { return { row: row, k: k }; });
      rows.sort(function (a, b) {
        const order = compare(value_of(a.row, column), value_of(b.row, column));
        return order !== 0 ? (is_up ? order : -order) : a.k - b.k;
      });
      for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", is_up ? "ascending" : "descending");
      for (const item of rows) body.appendChild(item.row);
    });
  }

  // Waveforms: values at a time, by pointer or arrow keys; + and - zoom, Escape shows all.
  function shown(value, unit) {
    const steps = [[1e-9, "n"], [1e-6, "u"], [1e-3, "m"], [1, ""], [1e3, "k"]];
    const size = Math.abs(value);
    if (size < 1e-12) return "0 " + unit;
    let step = steps[0];
    for (const s of steps) if (size >= s[0] * 0.9995) step = s;
    return (value / step[0]).toPrecision(4) + " " + step[1] + unit;
  }
  for (const plot of document.querySelectorAll(".plot")) {
    const data = JSON.parse(document.getElementById(plot.dataset.rows).textContent);
    // Each row is counted from the one before, in whole ticks.
    const sums = data.ticks.map(function () { return 0; });
    for (const row of data.rows)
      for (let k = 0; k < row.length; ++k) row[k] = (sums[k] += row[k]) * data.ticks[k];
    const read = document.getElementById(plot.dataset.read);
    const colours = ["#0b4f9e", "#a33c00", "#17602a", "#7b1fa2", "#5d4300", "#00606b"];
    const patterns = [null, [8, 4], [2, 3], [10, 3, 2, 3], [5, 5], [14, 4]];
    const series = {};
    data.labels.slice(1).forEach(function (name, k) {
      series[name] = { color: colours[k % 6], strokePattern: patterns[k % 6] };
    });
    // Which line is which stands beside its value: a piece of the line.
    const figures = data.labels.map(function (name, k) {
      const figure = document.createElement("span");
      if (k > 0) {
        const piece = document.createElementNS("http://www.w3.org/2000/svg", "svg");
        const line = document.createElementNS("http://www.w3.org/2000/svg", "path");
        piece.setAttribute("viewBox", "0 0 30 8");
        piece.setAttribute("aria-hidden", "true");
        line.setAttribute("d", "M0 4H30");
        line.setAttribute("stroke", colours[(k - 1) % 6]);
        line.setAttribute("stroke-dasharray", (patterns[(k - 1) % 6] || []).join(" "));
        piece.appendChild(line);
        figure.appendChild(piece);
      }
      figure.appendChild(document.createTextNode(""));
      read.appendChild(figure);
      return figure.lastChild;
    });
    let at = 0;
    function tell(row) {
      at = row;
      figures.forEach(function (text, k) {
        text.data = (k === 0 ? "at " : data.labels[k] + " ") +
          shown(data.rows[row][k], k === 0 ? "s" : "V") + " ";
      });
    }
    const graph = new Dygraph(plot, data.rows, {
      labels: data.labels, series: series, strokeWidth: 1.8, animatedZooms: false,
      axisLabelFontSize: 12, gridLineColor: "#c4c9cf", highlightCircleSize: 4,
      axes: { x: { axisLabelFormatter: function (x) { return shown(x, "s"); }, axisLabelWidth: 80 },
              y: { axisLabelFormatter: function (y) { return shown(y, "V"); }, axisLabelWidth: 70 } },
      highlightCallback: function (event, x, points, row) { tell(row); }
    });
    plot.addEventListener("keydown", function (event) {
      const range = graph.xAxisRange();
      const middle = data.rows[at][0];
      const step = event.shiftKey ? 20 : 1;
      if (event.key === "ArrowRight") at = Math.min(at + step, data.rows.length - 1);
      else if (event.key === "ArrowLeft") at = Math.max(at - step, 0);
      else if (event.key === "Home") at = 0;
      else if (event.key === "End") at = data.rows.length - 1;
      else if (event.key === "+" || event.key === "=" || event.key === "-") {
        const share = event.key === "-" ? 2 : 0.5;
        const whole = graph.xAxisExtremes();
        graph.updateOptions({ dateWindow: [Math.max(whole[0], middle - (middle - range[0]) * share),
                                           Math.min(whole[1], middle + (range[1] - middle) * share)] });
      } else if (event.key === "Escape") graph.resetZoom();
      else return;
      event.preventDefault();
      graph.setSelection(at);
      tell(at);
    });
    tell(0);
  }
})();
