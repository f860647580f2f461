// Texts with less than a contrast to what lies behind them.
least => {
  const rgb = text => (text.match(/[\d.]+/g) || [255, 255, 255]).map(Number);
  const light = ([r, g, b]) => [r, g, b].map(x => x / 255)
    .map(x => x <= 0.03928 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4)
    .reduce((sum, x, k) => sum + x * [0.2126, 0.7152, 0.0722][k], 0);
  const behind = element => {
    for (let e = element; e; e = e.parentElement) {
      const color = getComputedStyle(e).backgroundColor;
      if (rgb(color)[3] !== 0) return rgb(color);
    }
    return [255, 255, 255];
  };
  const under = text => {
    const box = text.getBoundingClientRect(), x = box.left + box.width / 2, y = box.top + box.height / 2;
    const filled = [...text.ownerSVGElement.querySelectorAll("rect.tint, rect.piece, rect.arm-block")]
      .filter(r => { const b = r.getBoundingClientRect(); return b.left < x && x < b.right && b.top < y && y < b.bottom; });
    const fill = filled.length ? getComputedStyle(filled.at(-1)).fill : "";
    return fill.startsWith("rgb") ? rgb(fill) : [255, 255, 255];
  };
  const found = [];
  document.querySelectorAll("body *").forEach(e => {
    const own = [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
    if (!own || ["SCRIPT", "STYLE", "title"].includes(e.tagName) || !e.getClientRects().length) return;
    const drawn = e.tagName === "text", style = getComputedStyle(e);
    const ink = light(rgb(drawn ? style.fill : style.color)), paper = light(drawn ? under(e) : behind(e));
    const contrast = (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
    if (contrast < least) found.push(`${e.textContent.slice(0, 40)}: ${contrast.toFixed(2)}`);
  });
  return found;
}
