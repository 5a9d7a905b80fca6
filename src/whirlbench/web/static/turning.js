// The turbine in three dimensions: a small WebGL scene made from the same numbers as the drawing, turned by pointer or keys.

const COLOURS = { rotor: "#0072b2", drivetrain: "#e69f00", generator: "#d55e00", tower: "#cc79a7" };
const SLOWER = 0.25; // of the true speed, which no eye can follow
const FASTEST = 6; // rad/s on the screen
const VERTEX = `
attribute vec3 place; attribute vec3 normal; attribute vec3 colour;
uniform mat4 view; uniform mat4 model;
varying vec3 lit;
void main() {
  vec3 n = normalize(mat3(model) * normal);
  float light = 0.68 + 0.4 * abs(dot(n, normalize(vec3(0.35, 0.5, 0.8)))) + 0.08 * n.y;
  lit = colour * light;
  gl_Position = view * model * vec4(place, 1.0);
}`;
const FRAGMENT = "precision mediump float; varying vec3 lit; void main() { gl_FragColor = vec4(lit, 1.0); }";

/** Triangles with flat normals: numbers to be sent to the card once for each shape. */
class Mesh {
  constructor() { this.numbers = []; }

  triangle(a, b, c, colour) {
    const [u, v] = [minus(b, a), minus(c, a)];
    const normal = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    for (const corner of [a, b, c]) this.numbers.push(...corner, ...normal, ...colour);
  }

  /** A skin over rings of points, closed at both ends. */
  skin(rings, colour) {
    for (let i = 0; i + 1 < rings.length; i += 1) {
      const [near, far] = [rings[i], rings[i + 1]];
      for (let k = 0; k < near.length; k += 1) {
        const next = (k + 1) % near.length;
        this.triangle(near[k], far[k], far[next], colour);
        this.triangle(near[k], far[next], near[next], colour);
      }
    }
    for (const ring of [rings[0], rings[rings.length - 1]]) {
      for (let k = 1; k + 1 < ring.length; k += 1) this.triangle(ring[0], ring[k], ring[k + 1], colour);
    }
  }

  /** A round bar between two points on a line along x, y or z. */
  bar(from, to, radius, colour, sides = 24) {
    const axis = [0, 1, 2].reduce((best, i) => (Math.abs(to[i] - from[i]) > Math.abs(to[best] - from[best]) ? i : best), 0);
    const [one, two] = [(axis + 1) % 3, (axis + 2) % 3];
    const ring = (middle) => Array.from({ length: sides }, (_, k) => {
      const turn = (2 * Math.PI * k) / sides;
      const point = [...middle];
      point[one] += radius * Math.cos(turn);
      point[two] += radius * Math.sin(turn);
      return point;
    });
    this.skin([ring(from), ring(to)], colour);
  }

  box(low, high, colour) {
    const ring = (y) => [[low[0], y, low[2]], [high[0], y, low[2]], [high[0], y, high[2]], [low[0], y, high[2]]];
    this.skin([ring(low[1]), ring(high[1])], colour);
  }
}

export class Turning {
  /** `gone` is called when this machine takes the canvas back. */
  constructor(canvas, gone) {
    this.canvas = canvas;
    this.gl = canvas.getContext("webgl", { antialias: true, alpha: true });
    if (!this.gl) throw new Error("no WebGL");
    this.around = 0.7;
    this.above = 0.22;
    this.turned = 0;
    this.running = false;
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    canvas.tabIndex = 0;
    canvas.addEventListener("webglcontextlost", (event) => { event.preventDefault(); this.stop(); gone(); });
    canvas.addEventListener("webglcontextrestored", () => this.#prepare());
    canvas.addEventListener("pointerdown", (event) => canvas.setPointerCapture(event.pointerId));
    canvas.addEventListener("pointermove", (event) => {
      if (canvas.hasPointerCapture(event.pointerId)) this.#look(event.movementX / 120, event.movementY / 160);
    });
    canvas.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: [-0.12, 0], ArrowRight: [0.12, 0], ArrowUp: [0, 0.08], ArrowDown: [0, -0.08] }[event.key];
      if (!way) return;
      event.preventDefault();
      this.#look(...way);
    });
    new ResizeObserver(() => this.#draw()).observe(canvas);
    this.#prepare();
  }

  /** Show a turbine whose rotor turns at a speed [rad/s]. */
  show(figure, speed) {
    this.figure = figure;
    this.speed = Math.min(FASTEST, SLOWER * speed);
    this.#send();
    this.#draw();
  }

  start() {
    this.running = true;
    let last = performance.now();
    const step = (now) => {
      if (!this.running) return;
      if (!this.calm.matches && !document.hidden) {
        this.turned += (this.speed * Math.min(now - last, 100)) / 1000;
        this.#draw();
      }
      last = now;
      requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
    this.#draw();
  }

  stop() { this.running = false; }

  #look(sideways, up) {
    this.around += sideways;
    this.above = Math.max(-0.1, Math.min(1.4, this.above + up));
    this.#draw();
  }

  #prepare() {
    const { gl } = this;
    const program = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    gl.useProgram(program);
    gl.enable(gl.DEPTH_TEST);
    this.names = { view: gl.getUniformLocation(program, "view"), model: gl.getUniformLocation(program, "model") };
    ["place", "normal", "colour"].forEach((name) => { this.names[name] = gl.getAttribLocation(program, name); });
    this.shapes = [gl.createBuffer(), gl.createBuffer()];
    this.counts = [0, 0];
    if (this.figure) this.#send();
  }

  #send() {
    const { gl } = this;
    [rotor(this.figure), rest(this.figure)].forEach((mesh, number) => {
      gl.bindBuffer(gl.ARRAY_BUFFER, this.shapes[number]);
      gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(mesh.numbers), gl.STATIC_DRAW);
      this.counts[number] = mesh.numbers.length / 9;
    });
  }

  #draw() {
    const { gl, canvas, figure } = this;
    if (!figure || gl.isContextLost() || canvas.hidden) return;
    const sharp = Math.min(devicePixelRatio || 1, 2);
    const [wide, tall] = [Math.round(canvas.clientWidth * sharp), Math.round(canvas.clientHeight * sharp)];
    if (canvas.width !== wide || canvas.height !== tall) Object.assign(canvas, { width: wide, height: tall });
    gl.viewport(0, 0, wide, tall);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const axis = height(figure);
    const top = axis + figure.radius_m;
    const reach = 0.56 * Math.max(top, 2 * figure.radius_m, (2 * figure.radius_m * tall) / wide);
    const view = seen(this.around, this.above, [0, top / 2, 0], reach, wide / tall);
    gl.uniformMatrix4fv(this.names.view, false, view);
    this.#shape(1, unit());
    this.#shape(0, turnedAbout(axis, -this.turned));
  }

  #shape(number, model) {
    const { gl, names } = this;
    gl.bindBuffer(gl.ARRAY_BUFFER, this.shapes[number]);
    ["place", "normal", "colour"].forEach((name, at) => {
      gl.enableVertexAttribArray(names[name]);
      gl.vertexAttribPointer(names[name], 3, gl.FLOAT, false, 36, 12 * at);
    });
    gl.uniformMatrix4fv(names.model, false, model);
    gl.drawArrays(gl.TRIANGLES, 0, this.counts[number]);
  }
}

// --- shapes: x is across the wind, y is up, z is towards the wind ---------------------------------------------------

const height = (figure) => figure.base_height_m + figure.tower_height_m;
const front = (figure) => figure.tower_diameter_m / 2 + Math.max(0.012, figure.wheels.length ? figure.motor_place_m : 0);

/** Hub, rods and blades around their axis, which lies at the origin. */
function rotor(figure) {
  const mesh = new Mesh();
  const blue = rgb(COLOURS.rotor);
  const z = front(figure);
  mesh.bar([0, 0, z - 0.006], [0, 0, z + 0.006], figure.hub_radius_m, blue, 32);
  for (const angle of figure.blade_angles_rad) {
    // a blade that points up, turned with the clock as the wind sees it
    const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
    const put = (x, y, depth) => [x * cos + y * sin, y * cos - x * sin, z + depth];
    const rings = figure.stations.map(([radius, chord, tilt]) => figure.section.map(([along, thick]) => {
      const [back, up] = [(along - figure.rod_place) * chord, thick * chord];
      // nose leads the turn; the suction side looks downwind
      return put(-back * Math.cos(tilt) + up * Math.sin(tilt), radius, -back * Math.sin(tilt) - up * Math.cos(tilt));
    }));
    mesh.skin(rings, blue);
    if (figure.rod_diameter_m) {
      const thick = figure.rod_diameter_m / 2;
      const ring = (y) => [[-1, -1], [1, -1], [1, 1], [-1, 1]].map(([a, b]) => put(a * thick, y, b * thick));
      mesh.skin([ring(0), ring(figure.inner_radius_m)], blue);
    }
  }
  return mesh;
}

/** All that stands still, from the floor up. */
function rest(figure) {
  const mesh = new Mesh();
  const [axis, half] = [height(figure), figure.base_width_m / 2];
  const pink = rgb(COLOURS.tower);
  mesh.box([-half, 0, -half], [half, figure.base_height_m, half], pink);
  mesh.bar([0, figure.base_height_m, 0], [0, axis, 0], figure.tower_diameter_m / 2, pink);
  const z = front(figure);
  for (const wheel of figure.wheels) {
    const back = z - wheel.place_m;
    mesh.bar([0, axis + wheel.offset_m, back - wheel.width_m], [0, axis + wheel.offset_m, back], wheel.radius_m, rgb(COLOURS.drivetrain), 48);
  }
  mesh.bar([0, axis, z - figure.motor_place_m], [0, axis, z], figure.shaft_diameter_m / 2, rgb(COLOURS.drivetrain));
  const behind = z - figure.motor_place_m;
  const high = axis + figure.motor_offset_m;
  mesh.bar([0, high, behind - figure.motor_length_m], [0, high, behind], figure.motor_diameter_m / 2, rgb(COLOURS.generator), 32);
  return mesh;
}

// --- small mathematics ---------------------------------------------------------------------------------------------

const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const rgb = (hex) => [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16) / 255);
const unit = () => [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

/** Turned about the rotor's axis, which lies so high above the floor. */
function turnedAbout(high, turn) {
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  return [cos, sin, 0, 0, -sin, cos, 0, 0, 0, 0, 1, 0, 0, high, 0, 1];
}

/** Parallel view from around and above onto a middle; `reach` is half the height that is seen. */
function seen(around, above, middle, reach, aspect) {
  const [ca, sa, cb, sb] = [Math.cos(around), Math.sin(around), Math.cos(above), Math.sin(above)];
  const right = [ca, 0, -sa];
  const up = [-sa * sb, cb, -ca * sb];
  const towards = [sa * cb, sb, ca * cb];
  const scale = [1 / (reach * aspect), 1 / reach, -1 / (6 * reach)];
  const rows = [right, up, towards].map((row, i) => [...row.map((one) => one * scale[i]), -scale[i] * row.reduce((sum, one, k) => sum + one * middle[k], 0)]);
  return [0, 1, 2, 3].flatMap((column) => [rows[0][column], rows[1][column], rows[2][column], column === 3 ? 1 : 0]);
}
