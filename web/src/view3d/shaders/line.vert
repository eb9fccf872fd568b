// A segment as a quad of constant width in the picture, a hair nearer to the viewer than what it lies on.
uniform mat4 clip_from_world;
uniform vec3 eye;
uniform vec2 size_px;
uniform float lift_mm;

in vec3 start;
in vec3 end;
// Which end (0, 1), which side (-1, 1).
in vec2 corner;
in vec4 style; // red, green, blue, width in px

out vec3 ink;

vec4 clip_of(vec3 p) {
    return clip_from_world * vec4(p + normalize(eye - p) * lift_mm, 1.0);
}

void main() {
    vec4 a = clip_of(start);
    vec4 b = clip_of(end);
    vec2 along = (b.xy / b.w - a.xy / a.w) * size_px;
    float len = length(along);
    vec2 dir = len > 1e-4 ? along / len : vec2(1.0, 0.0);
    vec4 at = corner.x < 0.5 ? a : b;
    // A little beyond its ends, so that neighbours meet without a notch.
    vec2 off = vec2(-dir.y, dir.x) * corner.y * style.a * 0.5 + dir * (corner.x - 0.5) * style.a * 0.6;
    at.xy += off * 2.0 / size_px * at.w;
    ink = style.rgb;
    gl_Position = at;
}
