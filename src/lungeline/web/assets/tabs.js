// Tabs: one panel of a group is shown; arrows go from tab to tab.

/** Wire the tabs of a page. first: the name of the one that is open. Returns open(name). */
export function wireTabs(first) {
  const tabs = [...document.querySelectorAll("[role=tab]")];
  function open(name) {
    tabs.forEach((tab) => {
      tab.setAttribute("aria-selected", String(tab.dataset.tab === name));
      tab.tabIndex = tab.dataset.tab === name ? 0 : -1;
    });
    document.querySelectorAll("[data-panel]").forEach((panel) => (panel.hidden = panel.dataset.panel !== name));
  }
  tabs.forEach((tab, place) => {
    tab.onclick = () => open(tab.dataset.tab);
    tab.onkeydown = (event) => {
      const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (!step) return;
      const next = tabs[(place + step + tabs.length) % tabs.length];
      open(next.dataset.tab);
      next.focus();
    };
  });
  open(first);
  return open;
}
