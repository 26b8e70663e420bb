/** The camera in the page: started at a person's word or where it was allowed before, its lamp off, let go when nobody looks. */

/** `off`: it may be started. The last four: why there is none. */
export type CameraState = 'off' | 'starting' | 'live' | 'denied' | 'none' | 'busy' | 'insecure';

const WANTED: MediaStreamConstraints = {
  audio: false,
  video: { facingMode: { ideal: 'environment' }, width: { ideal: 2048 }, height: { ideal: 1536 } },
};
// By the names that Media Capture and Streams gives its errors; any other is a fault of ours.
const TROUBLE: Readonly<Record<string, CameraState>> = {
  NotAllowedError: 'denied', SecurityError: 'denied', NotFoundError: 'none', OverconstrainedError: 'none', NotReadableError: 'busy', AbortError: 'busy',
};

/** One camera, shown by the video that it is given. */
export class Camera {
  state = $state<CameraState>('off');
  private stream: MediaStream | null = null;

  /** Find out what there is; a camera that was allowed before starts at once. */
  async ready(video: HTMLVideoElement): Promise<void> {
    if (!('mediaDevices' in navigator)) this.state = isSecureContext ? 'none' : 'insecure';
    else if ((await permission()) === 'granted') await this.start(video);
  }

  /** Start it; the browser may ask the person first. */
  async start(video: HTMLVideoElement): Promise<void> {
    this.state = 'starting';
    try {
      const stream = await navigator.mediaDevices.getUserMedia(WANTED);
      // The page may have been left while the browser asked.
      if (this.state !== 'starting') return stopped(stream);
      this.stream = stream;
      await lampOff(stream);
      video.srcObject = stream;
      await video.play();
      this.state = 'live';
    } catch (error) {
      this.stop();
      const trouble = error instanceof DOMException ? TROUBLE[error.name] : undefined;
      if (trouble === undefined) throw error;
      this.state = trouble;
    }
  }

  /** Let it go. */
  stop(): void {
    if (this.stream) stopped(this.stream);
    this.stream = null;
    this.state = 'off';
  }
}

function stopped(stream: MediaStream): void {
  stream.getTracks().forEach((track) => track.stop());
}

/** Nothing here ever lights it; this is for a device that would light it by itself. */
async function lampOff(stream: MediaStream): Promise<void> {
  for (const track of stream.getVideoTracks()) {
    const able = track.getCapabilities?.() as { torch?: boolean } | undefined;
    if (able?.torch) await track.applyConstraints({ advanced: [{ torch: false } as MediaTrackConstraintSet] });
  }
}

async function permission(): Promise<PermissionState> {
  try {
    return (await navigator.permissions.query({ name: 'camera' as PermissionName })).state;
  } catch (error) {
    // A browser that does not tell of cameras will ask.
    if (error instanceof TypeError) return 'prompt';
    throw error;
  }
}
