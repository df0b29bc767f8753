// Free places for words: candidates round a thing are weighed by what they would cover.

const WAYS = Array.from({ length: 24 }, (_, index) => {
  const angle = (index * Math.PI) / 12;
  return [Math.cos(angle), Math.sin(angle)];
});

/** Remembers what is inked on a page of this size. */
export class Places {
  constructor(width, height) {
    this.width = width;
    this.height = height;
    this.discs = [];
    this.boxes = [];
  }

  disc(centre, radius, weight = 1) {
    this.discs.push({ centre, radius, weight });
  }

  /** A stroke as discs along it. */
  stroke(start, end, radius) {
    const length = Math.hypot(end[0] - start[0], end[1] - start[1]);
    const count = Math.max(1, Math.round(length / 8));
    for (let step = 0; step <= count; step += 1) {
      const share = step / count;
      this.disc([start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share], radius, 0.6);
    }
  }

  /** The middle of the best box of this size near a point, `clear` pixels away from it; it is then taken. */
  put(near, size, clear, prefer = null) {
    let best = null;
    for (const far of [0, 10, 22, 36, 54]) {
      for (const way of WAYS) {
        const reach = clear + far + Math.abs(way[0]) * size[0] * 0.5 + Math.abs(way[1]) * size[1] * 0.5;
        const middle = [near[0] + way[0] * reach, near[1] + way[1] * reach];
        let cost = this.cost(middle, size) + far * 0.25;
        if (prefer) cost += 6 * (1 - way[0] * prefer[0] - way[1] * prefer[1]);
        if (best === null || cost < best.cost - 1e-9) best = { cost, middle };
      }
    }
    this.boxes.push({ middle: best.middle, size });
    return best.middle;
  }

  cost([x, y], [width, height]) {
    const over =
      Math.max(0, width / 2 + 2 - x, x + width / 2 + 2 - this.width) +
      Math.max(0, height / 2 + 2 - y, y + height / 2 + 2 - this.height);
    let cost = over * 40;
    for (const { centre, radius, weight } of this.discs) {
      const dx = Math.max(0, Math.abs(centre[0] - x) - width / 2);
      const dy = Math.max(0, Math.abs(centre[1] - y) - height / 2);
      const gap = Math.hypot(dx, dy) - radius;
      if (gap < 2) cost += weight * Math.min(2 - gap, 24);
    }
    for (const box of this.boxes) {
      const dx = (width + box.size[0]) / 2 + 3 - Math.abs(box.middle[0] - x);
      const dy = (height + box.size[1]) / 2 + 1 - Math.abs(box.middle[1] - y);
      if (dx > 0 && dy > 0) cost += 3 * Math.min(dx, dy) + 6;
    }
    return cost;
  }
}
