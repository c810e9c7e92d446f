// What of a page's text cannot be read where it stands: out of the window, cut off, or on top of other text.
() => {
  const found = [], lines = [];
  const style = new Map();
  const styled = (element) => {
    if (!style.has(element)) style.set(element, getComputedStyle(element));
    return style.get(element);
  };
  // Words for those who listen only: a box of one pixel, or cut away.
  const unseen = (element) => {
    for (let one = element; one && one !== document.body; one = one.parentElement) {
      const s = styled(one);
      if (s.visibility !== "visible" || s.clip !== "auto" || s.clipPath !== "none") return true;
    }
    return false;
  };
  const say = (what, node, line) => {
    const words = node.textContent.trim().slice(0, 24);
    const from = node.parentElement.closest("[class], [id]");
    found.push(`${what}: “${words}” in ${from ? from.outerHTML.slice(0, 60) : ""}, ${Math.round(line.left)} to ${Math.round(line.right)}`);
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const parent = node.parentElement;
    if (!node.textContent.trim() || parent.closest("script, select, textarea, title, desc") || !parent.checkVisibility() || unseen(parent)) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const line of range.getClientRects()) {
      if (line.width < 1 || line.height < 1) continue;
      let seen = line;
      for (let box = parent; box && box !== document.body; box = box.parentElement) {
        const s = styled(box), edge = box.getBoundingClientRect();
        if (["auto", "scroll"].includes(s.overflowX) && box.scrollWidth > box.clientWidth) {
          // It can be scrolled to; meanwhile it stands on nothing beside its box.
          const left = Math.max(line.left, edge.left), right = Math.min(line.right, edge.right);
          seen = right > left ? new DOMRect(left, line.top, right - left, line.height) : null;
          break;
        }
        const cuts = ["hidden", "clip"].includes(s.overflowX) || box.tagName === "svg";
        if (cuts && (line.right > edge.right + 1 || line.left < edge.left - 1)) { say("cut off", node, line); break; }
      }
      if (seen) lines.push([node, seen]);
      if (seen === line && (line.right > innerWidth + 1 || line.left < -1)) say("out of the window", node, line);
    }
  }
  lines.sort((a, b) => a[1].top - b[1].top);
  for (let i = 0; i < lines.length; i++) {
    const [node, one] = lines[i];
    for (let j = i + 1; j < lines.length && lines[j][1].top < one.bottom; j++) {
      const [other, two] = lines[j];
      const wide = Math.min(one.right, two.right) - Math.max(one.left, two.left);
      const high = Math.min(one.bottom, two.bottom) - two.top;
      if (node !== other && wide > 2 && high > 0.4 * Math.min(one.height, two.height)) {
        say(`under “${other.textContent.trim().slice(0, 24)}”`, node, one);
      }
    }
  }
  return found;
}
