// The pieces of a drawing, and where a tap lies on it.
export const NS = "http://www.w3.org/2000/svg";

export function shape(name, told) {
  const one = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(told)) one.setAttribute(key, value);
  return one;
}

export function word([x, y], words) {
  const one = shape("text", { x, y });
  one.textContent = words;
  return one;
}

export function dot([x, y], number) {
  return [shape("line", { x1: x - 14, y1: y, x2: x + 14, y2: y, class: "line" }), shape("line", { x1: x, y1: y - 14, x2: x, y2: y + 14, class: "line" }), word([x + 8, y - 8], String(number))];
}

export function pairs(numbers) {
  if (!numbers) return [];
  return numbers.length >= 4 ? [[numbers[0], numbers[1]], [numbers[2], numbers[3]]] : [[numbers[0], numbers[1]]];
}

export const clamp = (value, most) => Math.min(most, Math.max(0, value));

// The side of a polygon that a point lies on, within reach; −1 for none.
export function edge(points, [x, y], reach) {
  let best = -1;
  let least = reach;
  points.forEach(([ax, ay], k) => {
    const [bx, by] = points[(k + 1) % points.length];
    const long = (bx - ax) ** 2 + (by - ay) ** 2 || 1;
    const along = Math.min(1, Math.max(0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / long));
    const far = Math.hypot(x - ax - along * (bx - ax), y - ay - along * (by - ay));
    if (far < least) [best, least] = [k, far];
  });
  return best;
}

// Moves a corner; those between it and the next ones that are shown bend along, so that a line of many
// corners keeps its run.
export function bent(points, at, [dx, dy], shown) {
  const many = points.length;
  const moved = points.map((one) => [...one]);
  const shift = (k, share) => { moved[k] = [points[k][0] + share * dx, points[k][1] + share * dy]; };
  shift(at, 1);
  for (const way of [1, -1]) {
    let far = 1;
    while (far < many && !shown.has((at + way * far + many * far) % many)) far += 1;
    for (let step = 1; step < far; step += 1) shift((at + way * step + many * step) % many, 1 - step / far);
  }
  return moved;
}
