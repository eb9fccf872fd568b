// The millimetre ground: lines every 10 mm, stronger every 50 mm, every millimetre when near enough; the shade under
// the pair; fading out to the paper.
uniform vec3 paper;
uniform vec3 grid;
uniform vec2 middle;
uniform float reach;
uniform vec4 shade_box;
uniform float strength;
// Device px to a css px: a line is as wide on any screen.
uniform float ratio;
uniform sampler2D shade;

in vec2 at;

layout (location = 0) out vec4 color;

float lines(float step_mm, float width_px) {
    vec2 q = at / step_mm;
    vec2 across = fwidth(q);
    vec2 to_line = abs(fract(q + 0.5) - 0.5) / max(across, vec2(1e-6));
    width_px *= ratio;
    vec2 on = 1.0 - smoothstep(vec2(width_px * 0.5 - 0.5), vec2(width_px * 0.5 + 0.7), to_line);
    // Lines closer than a few pixels would only be grey.
    on *= 1.0 - smoothstep(vec2(0.08), vec2(0.22), across * ratio);
    return max(on.x, on.y);
}

void main() {
    float away = length(at - middle) / reach;
    float there = 1.0 - smoothstep(0.45, 1.0, away);
    float line = max(max(lines(50.0, 1.3) * 0.6, lines(10.0, 1.0) * 0.27), lines(1.0, 1.0) * 0.12);
    // The graphics library stores pictures with their first row on top.
    vec2 uv = (at - shade_box.xy) / (shade_box.zw - shade_box.xy);
    float dark = 0.0;
    if (uv.x > 0.0 && uv.x < 1.0 && uv.y > 0.0 && uv.y < 1.0) dark = texture(shade, vec2(uv.x, 1.0 - uv.y)).r;
    vec3 ground = mix(paper, grid, line * there);
    color = vec4(ground * (1.0 - 0.42 * dark), strength * max(there, dark));
}
