"use strict";
/* What a script adds to a page that is complete without it: order, filter, opening of parts, unrounded figures. */
(() => {
  const make = (tag, properties, ...children) => {
    const made = Object.assign(document.createElement(tag), properties);
    made.append(...children);
    return made;
  };
  const button = (text, act) => {
    const made = make("button", {type: "button"}, text);
    made.addEventListener("click", () => act(made));
    return made;
  };
  const tools = (name, before) => {
    const row = make("div", {className: "tools"});
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", name);
    before.before(row);
    return row;
  };
  const said = make("p", {className: "unseen"});
  said.setAttribute("role", "status");
  document.querySelector("main").append(said);
  const say = text => { said.textContent = text; };
  const words = element => element.textContent.replace(/\s+/g, " ").trim();
  const collator = new Intl.Collator("en", {numeric: true});

  /* What a row is ordered by: its key, else the unrounded figure, else its words; nothing where nothing was computed. */
  const keyOf = cell => {
    const figure = cell.querySelector("data");
    const text = "key" in cell.dataset ? cell.dataset.key : figure ? figure.value : words(cell);
    return text === "" || text === "–" ? null : text;
  };
  const compare = (one, other) => {
    const [a, b] = [Number(one), Number(other)];
    return Number.isNaN(a) || Number.isNaN(b) ? collator.compare(one, other) : a - b;
  };
  /* Put groups in order; those without a key stay last, and those alike keep the order of the page. */
  const arrange = (groups, key, direction) => {
    const keyed = groups.map((group, place) => ({group, place, key: key ? key(group) : null}));
    if (key) {
      keyed.sort((a, b) =>
        (a.key === null) - (b.key === null)
        || (a.key === null ? 0 : direction * compare(a.key, b.key))
        || a.place - b.place);
    }
    for (const {group} of keyed) group.parentNode.append(group);
  };

  const narrow = matchMedia("(max-width: 60rem)");
  /* Make the headings of a table buttons that put its groups of rows in order. */
  const sortable = (table, groups) => {
    const heads = [...table.tHead.rows[0].cells];
    const name = index => words(heads[index]);
    const by = (index, direction) => {
      arrange(groups, direction ? group => keyOf((group.rows ? group.rows[0] : group).cells[index]) : null, direction);
      heads.forEach((head, place) => {
        if (place === index && direction) head.setAttribute("aria-sort", direction > 0 ? "ascending" : "descending");
        else head.removeAttribute("aria-sort");
      });
      say(direction ? `In order of ${name(index)}, ${direction > 0 ? "ascending" : "descending"}`
        : "In the order of the page");
    };
    const next = {ascending: -1, descending: 0};
    const buttons = heads.map((head, index) => {
      const made = button("", () => by(index, next[head.getAttribute("aria-sort")] ?? 1));
      made.className = "sort";
      made.append(...head.childNodes);
      head.append(made);
      return made;
    });
    if (!table.matches(".stack")) return null;
    /* On a narrow screen the headings are not seen; a list does the same. */
    const follow = () => buttons.forEach(one => { one.tabIndex = narrow.matches ? -1 : 0; });
    narrow.addEventListener("change", follow);
    follow();
    const list = make("select", {}, make("option", {value: "-1"}, "of the page"),
      ...heads.map((_, index) => make("option", {value: String(index)}, name(index))));
    list.addEventListener("change", () => by(Number(list.value), Number(list.value) < 0 ? 0 : 1));
    return make("label", {className: "narrow"}, "Order ", list);
  };

  /* Show of some groups those that hold a text and bear a word; on paper all are shown. */
  const filtered = (row, groups, what, every) => {
    const find = make("input", {type: "search", size: 12});
    const kinds = [...new Set(groups.map(group => words(group.querySelector(".word"))))];
    const kind = make("select", {}, make("option", {value: ""}, every), ...kinds.map(one => make("option", {}, one)));
    kind.setAttribute("aria-label", `${what} by ${every.split(" ")[1]}`);
    const count = make("output");
    const show = () => {
      const text = find.value.trim().toLowerCase();
      let shown = 0;
      for (const group of groups) {
        const fits = words(group).toLowerCase().includes(text)
          && (!kind.value || words(group.querySelector(".word")) === kind.value);
        group.classList.toggle("off", !fits);
        shown += fits;
      }
      count.textContent = shown < groups.length ? `${shown} of ${groups.length} shown` : "";
    };
    find.addEventListener("input", show);
    kind.addEventListener("change", show);
    row.append(make("label", {}, "Find ", find));
    if (kinds.length > 1) row.append(kind);
    return count;
  };

  const samples = document.querySelector("#samples table.samples");
  if (samples && samples.tBodies.length > 1) {
    const row = tools("Samples shown", samples), groups = [...samples.tBodies];
    const count = filtered(row, groups, "Samples", "all decisions");
    row.append(sortable(samples, groups), count);
  }
  const corrections = document.querySelector("#corrections table");
  if (corrections && corrections.tBodies[0].rows.length > 1) sortable(corrections, [...corrections.tBodies[0].rows]);
  const found = document.querySelector("#findings .found");
  if (found && found.children.length > 1) {
    const row = tools("Findings shown", found), groups = [...found.children];
    const count = filtered(row, groups, "Findings", "all severities");
    const orders = {severity: null, subject: group => words(group.querySelector("h3")), place: group => group.dataset.key};
    const list = make("select", {}, ...Object.keys(orders).map(one => make("option", {}, one)));
    list.addEventListener("change", () => {
      arrange(groups, orders[list.value], 1);
      say(`In order of ${list.value}`);
    });
    row.append(make("label", {}, "Order ", list), count);
  }

  const page = tools("The whole page", document.querySelector("header").firstElementChild);
  const figures = [...document.querySelectorAll("data[title]")], rounded = figures.map(one => one.textContent);
  if (figures.length) {
    const put = unrounded => {
      figures.forEach((one, index) => { one.textContent = unrounded ? one.title : rounded[index]; });
      document.body.classList.toggle("unrounded", unrounded);
    };
    const toggle = button("Unrounded figures", () => {
      const now = toggle.getAttribute("aria-pressed") !== "true";
      toggle.setAttribute("aria-pressed", String(now));
      put(now);
      say(now ? "Figures are shown unrounded" : "Figures are shown rounded");
    });
    toggle.setAttribute("aria-pressed", "false");
    page.append(toggle);
    /* Paper has room for rounded figures only. */
    addEventListener("beforeprint", () => put(false));
    addEventListener("afterprint", () => put(toggle.getAttribute("aria-pressed") === "true"));
  }
  const parts = [...document.querySelectorAll("details")];
  if (parts.length) {
    page.append(button("Open all parts", made => {
      const open = parts.some(part => !part.open);
      for (const part of parts) part.open = open;
      made.textContent = open ? "Close all parts" : "Open all parts";
      say(open ? "All parts are open" : "All parts are closed");
    }));
  }
})();
