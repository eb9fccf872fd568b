uniform vec3 outline;
uniform vec3 halo;

in vec2 at_px;
in vec4 paint;
in vec3 kind;

layout (location = 0) out vec4 color;

// Signed distances to the shapes, px, negative inside.
float disc(vec2 p, float r) {
    return length(p) - r;
}

float square(vec2 p, float r) {
    vec2 q = abs(p) - vec2(r * 0.82 - 1.5);
    return length(max(q, 0.0)) + min(max(q.x, q.y), 0.0) - 1.5;
}

float diamond(vec2 p, float r) {
    return (abs(p.x) + abs(p.y) - r * 1.15) * 0.7071;
}

float arrows(vec2 p, float r) {
    // Two heads with a gap between, tips 1.75 r from the middle.
    vec2 q = abs(p);
    return max(dot(q - vec2(0.0, 1.75 * r), vec2(0.7682, 0.6402)), 0.42 * r - q.y);
}

void main() {
    float r = kind.y;
    float d = kind.x < 0.5 ? disc(at_px, r)
        : kind.x < 1.5 ? square(at_px, r)
        : kind.x < 2.5 ? arrows(at_px, r)
        : diamond(at_px, r);
    float inside = 1.0 - smoothstep(-0.6, 0.6, d);
    float edge = 1.0 - smoothstep(0.9, 2.1, abs(d - 0.4));
    float ring = kind.z * (1.0 - smoothstep(0.6, 1.6, abs(d - 4.0)));
    float glow = 1.0 - smoothstep(1.0, 3.0, d);
    vec3 rgb = mix(halo, paint.rgb, inside);
    rgb = mix(rgb, outline, edge);
    rgb = mix(rgb, paint.rgb, ring);
    float cover = max(max(inside, edge), max(ring, glow * 0.75));
    color = vec4(rgb, cover * paint.a);
}
