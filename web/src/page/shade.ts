// How a surface is drawn: matt, lit from the eye, with the reading's map on it
// and the limit as a contour line. Vertices without a value keep the tooth's
// own colour.
import * as THREE from "three";
import { texels, type Range } from "./scale";

const vertex = /* glsl */ `
attribute float value;
attribute float known;
varying float vValue;
varying float vKnown;
varying vec3 vNormal;
varying vec3 vPlace;
void main() {
  vPlace = position;
  vValue = value;
  vKnown = known;
  vNormal = normalMatrix * normal;
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
}`;

// The line is about two pixels wide whatever the slope of the value, and its
// paper-coloured rim keeps it visible on every colour of the scale.
const fragment = /* glsl */ `
uniform vec3 tooth;
uniform vec3 ink;
uniform vec3 rim;
uniform sampler2D scale;
uniform vec2 span;
uniform vec2 limits;
uniform vec2 limited;
uniform float mapped;
uniform float opacity;
uniform float density;
varying float vValue;
varying float vKnown;
varying vec3 vNormal;
varying vec3 vPlace;
uniform float around;
uniform vec3 eye;

float away(float limit) {
  return abs(vValue - limit) / max(fwidth(vValue), 1e-7) / density;
}

void main() {
  // What stands before the tooth, as seen by the eye, is cut away.
  if (length(vPlace.xy) > around && dot(vPlace.xy, eye.xy) > 0.0) discard;
  vec3 n = normalize(vNormal);
  if (!gl_FrontFacing) n = -n;
  float key = max(dot(n, normalize(vec3(-0.35, 0.45, 0.85))), 0.0);
  float fill = max(dot(n, normalize(vec3(0.6, -0.2, 0.6))), 0.0);
  float light = 0.40 + 0.52 * key + 0.16 * fill;
  vec3 c = tooth;
  float on = mapped * step(0.999, vKnown);
  if (on > 0.5) {
    float u = clamp((vValue - span.x) / (span.y - span.x), 0.0, 1.0);
    c = texture2D(scale, vec2(u, 0.5)).rgb;
    light = 0.72 + 0.26 * key + 0.06 * fill;
  }
  if (!gl_FrontFacing && on < 0.5) light = 0.62 + 0.1 * key; // the inside of what was cut away: flat
  c *= light;
  if (on > 0.5) {
    float d = min(limited.x > 0.5 ? away(limits.x) : 1e6, limited.y > 0.5 ? away(limits.y) : 1e6);
    c = mix(rim, c, smoothstep(2.2, 3.2, d));
    c = mix(ink, c, smoothstep(1.0, 1.8, d));
  }
  gl_FragColor = vec4(c, opacity);
}`;

function scaleTexture(): THREE.DataTexture {
  const t = new THREE.DataTexture(texels(256), 256, 1, THREE.RGBAFormat);
  t.magFilter = t.minFilter = THREE.LinearFilter;
  t.needsUpdate = true;
  return t;
}

let shared: THREE.DataTexture | null = null;

/** material makes the shading of one surface; its colours are sRGB as drawn. */
export function material(): THREE.ShaderMaterial {
  return new THREE.ShaderMaterial({
    vertexShader: vertex,
    fragmentShader: fragment,
    side: THREE.DoubleSide,
    uniforms: {
      tooth: { value: new THREE.Vector3(0.9, 0.88, 0.85) },
      ink: { value: new THREE.Vector3(0.1, 0.1, 0.1) },
      rim: { value: new THREE.Vector3(1, 1, 1) },
      scale: { value: (shared ??= scaleTexture()) },
      span: { value: new THREE.Vector2(0, 1) },
      limits: { value: new THREE.Vector2(0, 0) },
      limited: { value: new THREE.Vector2(0, 0) },
      mapped: { value: 0 },
      opacity: { value: 1 },
      density: { value: 1 },
      around: { value: 1e6 }, // mm from the axis, from which on surfaces before the tooth are cut away
      eye: { value: new THREE.Vector3(0, 0, 1) }, // direction to the eye
    },
  });
}

/** setMap says what the map spans and where its limits are; null shows the tooth. */
export function setMap(m: THREE.ShaderMaterial, range: Range | null, limit: { min?: number; max?: number } | null): void {
  const u = m.uniforms;
  u.mapped.value = range ? 1 : 0;
  if (!range) return;
  u.span.value.set(range.min, range.max);
  u.limits.value.set(limit?.min ?? 0, limit?.max ?? 0);
  u.limited.value.set(limit?.min === undefined ? 0 : 1, limit?.max === undefined ? 0 : 1);
}
