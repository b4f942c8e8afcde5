// Contrast of each visible text inside an SVG against what is painted beneath it, as WCAG 2.2 works it out
// (relative luminance, 1.4.3). axe-core leaves text in drawings undecided.
() => {
  const canvas = new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
  // Any CSS colour, however it is written, as [red, green, blue, alpha] from 0 to 1.
  const rgba = (colour) => {
    canvas.clearRect(0, 0, 1, 1);
    canvas.fillStyle = "transparent";
    canvas.fillStyle = colour;
    canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data].map((part) => part / 255);
  };
  const over = ([r, g, b, a], [R, G, B, A]) => {
    const alpha = a + A * (1 - a);
    const mix = (upper, lower) => (alpha ? (upper * a + lower * A * (1 - a)) / alpha : 0);
    return [mix(r, R), mix(g, G), mix(b, B), alpha];
  };
  const linear = (part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4);
  const luminance = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  const contrast = (one, other) => {
    const [light, dark] = [luminance(one), luminance(other)].sort((a, b) => b - a);
    return (light + 0.05) / (dark + 0.05);
  };
  const opacity = (element) => {
    let product = 1;
    for (let at = element; at; at = at.parentElement) product *= Number(getComputedStyle(at).opacity);
    return product;
  };
  // What one element paints at a point: a shape its fill, anything else its background.
  const paint = (element) => {
    const style = getComputedStyle(element);
    const isShape = element instanceof SVGGeometryElement;
    if (element instanceof SVGElement && !isShape && element.tagName !== "svg") return [0, 0, 0, 0];
    if (isShape && (style.fill === "none" || style.fill.startsWith("url"))) return [0, 0, 0, 0];
    const [r, g, b, a] = rgba(isShape ? style.fill : style.backgroundColor);
    return [r, g, b, a * opacity(element) * (isShape ? Number(style.fillOpacity) : 1)];
  };
  const hits = document.createElement("style");
  hits.textContent = "svg, svg * { pointer-events: all !important }";
  document.head.append(hits);
  const page = rgba("canvas");
  const findings = [];
  for (const text of document.querySelectorAll("svg text, svg tspan")) {
    const own = [...text.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
    if (!own || !text.checkVisibility({ opacityProperty: false, visibilityProperty: true })) continue;
    text.scrollIntoView({ block: "center", inline: "center" });
    const box = text.getBoundingClientRect();
    if (!box.width) continue;
    const stack = document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2);
    const beneath = stack.slice(stack.findIndex((one) => one === text || text.contains(one)) + 1);
    let ground = [0, 0, 0, 0];
    for (const element of beneath) if (!text.closest("text").contains(element)) ground = over(ground, paint(element));
    ground = over(ground, page);
    const style = getComputedStyle(text);
    const [r, g, b, a] = rgba(style.fill);
    const ink = over([r, g, b, a * Number(style.fillOpacity) * opacity(text)], ground);
    const size = Number.parseFloat(style.fontSize) * text.getScreenCTM().a;
    const isLarge = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
    findings.push({
      words: text.textContent.trim(), ratio: contrast(ink, ground), needed: isLarge ? 3 : 4.5,
      fill: style.fill, ground: ground.map((part) => Math.round(part * 255)).join(" "), size,
    });
  }
  hits.remove();
  return findings;
}
