// Answers of the page: words as JSON, and blocks of bytes; as moldgen/sandbox/frames.py writes them.

export function readFrame(buffer) {
  const view = new DataView(buffer);
  const wordsLength = view.getUint32(0, true);
  const blockCount = view.getUint32(4, true);
  const words = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 8, wordsLength)));
  const blocks = [];
  let at = 8 + wordsLength;
  for (let i = 0; i < blockCount; i += 1) {
    const size = Number(view.getBigUint64(at, true));
    blocks.push(buffer.slice(at + 8, at + 8 + size));
    at += 8 + size;
  }
  return { words, blocks };
}

// A mesh as moldgen/export/mesh/packed.py writes it: positions in mm, triangles.
export function readMesh(buffer) {
  const head = new DataView(buffer);
  const low = [0, 4, 8].map((at) => head.getFloat32(at, true));
  const size = [12, 16, 20].map((at) => head.getFloat32(at, true));
  const pointCount = head.getUint32(24, true);
  const triangleCount = head.getUint32(28, true);
  const steps = new Uint16Array(buffer.slice(32, 32 + 6 * pointCount));
  const positions = new Float32Array(3 * pointCount);
  for (let i = 0; i < steps.length; i += 1) {
    positions[i] = low[i % 3] + (steps[i] / 65535) * size[i % 3];
  }
  const from = 32 + 6 * pointCount;
  const triangles = new Uint32Array(buffer.slice(from, from + 12 * triangleCount));
  return { positions, triangles };
}

// The sheet in all its states: one array of positions a state, in mm.
export function readSheet({ words, blocks }) {
  const steps = new Uint16Array(blocks[0]);
  const { low, size } = words.box_mm;
  const length = 3 * words.n_points;
  const states = [];
  for (let k = 0; k < words.n_frames; k += 1) {
    const positions = new Float32Array(length);
    for (let i = 0; i < length; i += 1) {
      positions[i] = low[i % 3] + (steps[k * length + i] / 65535) * size[i % 3];
    }
    states.push(positions);
  }
  return {
    states,
    triangles: new Uint32Array(blocks[1]),
    thickness: new Uint8Array(blocks[2]),
    part: new Uint8Array(blocks[3]),
    gauge: words.gauge_mm,
    scale: words.scale,
  };
}
