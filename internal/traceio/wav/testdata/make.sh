#!/usr/bin/env bash
# Made the WAV files of this folder and recorded.json: files written by FFmpeg and SoX, read by the wave module of Python's
# standard library (whole numbers) and by FFmpeg (floating point). Run with FFmpeg 5.1.9, SoX 14.4.2 and Python 3.11.7.
set -euo pipefail
cd "$(dirname "$0")"
ff() { ffmpeg -loglevel error -y -bitexact "$@"; }
for k in u8 s16le s24le s32le f32le f64le; do
  ff -f lavfi -i "aevalsrc=0.8*sin(2*PI*440*t)*exp(-30*t)|0.3*cos(2*PI*90*t):s=8000:d=0.025" -c:a pcm_$k $k.wav
done
ff -f lavfi -i "aevalsrc=0.5*sin(2*PI*300*t)|0.25|-0.25*t:s=48000:d=0.004:c=2.1" -c:a pcm_s24le extensible.wav
ff -f lavfi -i "aevalsrc=0.5*sin(2*PI*300*t):s=8000:d=0.02" -c:a pcm_s16le -f wav pipe:1 >piped.wav
sox -D -r 11025 -n -b 24 -c 1 tones.wav synth 161s sine 700 vol 0.7
sox -D -r 8000 -n -b 8 -c 1 odd.wav synth 61s sine 500 vol 0.7
python3 - <<'P'
import glob, json, struct, subprocess, wave
out = {}
for name in sorted(glob.glob("*.wav")):
    try:
        if name == "piped.wav":
            raise wave.Error("its length is not stated")
        with wave.open(name) as w:
            n, width, rate, chans = w.getnframes(), w.getsampwidth(), w.getframerate(), w.getnchannels()
            raw, reader = w.readframes(n), "wave"
        full = 1 << (8 * width - 1)
        values = [int.from_bytes(raw[i:i + width], "little", signed=width > 1) - (full if width == 1 else 0) for i in range(0, len(raw), width)]
        values = [v / full for v in values]
    except wave.Error:
        probe = json.loads(subprocess.check_output(["ffprobe", "-loglevel", "error", "-show_streams", "-of", "json", name]))["streams"][0]
        rate, chans, reader = int(probe["sample_rate"]), probe["channels"], "ffmpeg"
        raw = subprocess.check_output(["ffmpeg", "-loglevel", "error", "-i", name, "-f", "f64le", "-c:a", "pcm_f64le", "pipe:1"])
        values = list(struct.unpack("<%dd" % (len(raw) // 8), raw))
    out[name] = {"reader": reader, "rate": rate, "channels": chans, "values": values}
with open("recorded.json", "w") as f:
    f.write("{\n" + ",\n".join(" %s: %s" % (json.dumps(k), json.dumps(v)) for k, v in out.items()) + "\n}\n")
P
