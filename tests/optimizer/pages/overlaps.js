// Text that lies over other text of the same drawing, by the boxes that the browser gave it.
() => [...document.querySelectorAll("figure svg")].flatMap(svg => {
  const boxes = [...svg.querySelectorAll("text")].map(t => [t.textContent, t.getBoundingClientRect()]);
  const found = [];
  boxes.forEach(([a, p], i) => boxes.slice(i + 1).forEach(([b, q]) => {
    const wide = Math.min(p.right, q.right) - Math.max(p.left, q.left);
    const high = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
    if (wide > 1 && high > 3) found.push(`${svg.closest("figure").id}: ${a} | ${b}`);
  }));
  return found;
})
