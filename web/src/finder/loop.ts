/** When the passes are made: one at once after every change, then as many a frame as the graphics keep up with. */
import type { Engine } from "./engine";

const FRAME_MS = 26;
const QUIET_MS = 160;
const SLOW_MS = 700;

export class Loop {
  private request = 0;
  private fence: WebGLSync | null = null;
  private sent = 0;
  private count = 1;
  private size: [number, number] = [0, 0];
  /** Share of the full size that passes are made at while something moves. */
  private coarse = 1;
  /** And at rest: less than all of it only where one pass takes the better part of a second. */
  private fineness = 1;
  private changed = 0;
  private started = 0;
  private firstMs = 0;
  private shown = false;

  constructor(private readonly engine: Engine, private readonly tell: (passes: number, firstMs: number) => void) {}

  /** Pixels of the whole picture. */
  resize(width: number, height: number): void {
    this.size = [width, height];
    [this.engine.canvas.width, this.engine.canvas.height] = [width, height];
    this.engine.resize(width * this.coarse, height * this.coarse);
    this.poke(false);
  }

  /** Something has changed; `moving` while it is still in the hand. */
  poke(moving: boolean): void {
    this.changed = moving ? performance.now() : 0;
    this.started = performance.now();
    this.engine.restart();
    this.request ||= requestAnimationFrame(this.frame);
  }

  stop(): void {
    cancelAnimationFrame(this.request);
    this.request = 0;
  }

  private readonly frame = (): void => {
    this.request = 0;
    const { engine } = this;
    const { gl } = engine;
    const now = performance.now();
    if (gl.isContextLost()) return;
    if (this.fence) {
      const state = gl.clientWaitSync(this.fence, 0, 0);
      if (state === gl.TIMEOUT_EXPIRED) {
        this.request = requestAnimationFrame(this.frame);
        return;
      }
      gl.deleteSync(this.fence);
      this.fence = null;
      this.learn(now - this.sent);
    }
    const moving = now - this.changed < QUIET_MS;
    const scale = moving ? Math.min(this.coarse, this.fineness) : this.fineness;
    engine.resize(this.size[0] * scale, this.size[1] * scale);
    if (!engine.finished) {
      const first = engine.passes === 0;
      engine.add(first ? Math.max(1, moving ? this.count : 1) : this.count, !moving);
      // a picture that is shown already is not given up for one through a pinhole
      if (!this.shown || engine.passes >= 8 || engine.finished || now - this.started > 90) {
        engine.present();
        this.shown = true;
      }
      this.sent = now;
      this.fence = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
      gl.flush();
      if (first) this.firstMs = performance.now() - this.started;
      this.tell(engine.passes, this.firstMs);
    }
    if (!engine.finished || moving) this.request = requestAnimationFrame(this.frame);
  };

  /** More passes a frame while there is time, fewer or coarser ones when there is none. */
  private learn(took: number): void {
    if (took > SLOW_MS && this.count === 1) this.fineness = Math.max(0.5, this.fineness * 0.7);
    if (took < FRAME_MS * 0.7) {
      if (this.coarse < 1) this.coarse = Math.min(1, this.coarse * 1.15);
      else this.count = Math.min(16, this.count + 1);
    } else if (took > FRAME_MS * 1.5) {
      if (this.count > 1) this.count = Math.max(1, Math.floor(this.count / 2));
      else if (performance.now() - this.changed < QUIET_MS * 2) this.coarse = Math.max(0.3, this.coarse * 0.8);
    }
  }
}
