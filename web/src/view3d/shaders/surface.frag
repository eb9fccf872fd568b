// Matte light: sky and ground, a soft key light that stands with the viewer, a faint rim. Bright enough that a colour
// keeps the look it has on its scale.
uniform vec3 eye;
uniform vec3 key_direction;
uniform vec3 sky_direction;
// 1: as it is; less: translucent, more so where it is looked through squarely.
uniform float opacity;
// Step between lines of equal value; 0: none.
uniform float iso_step;
// Whether the mesh is mirrored, so that its faces turn the other way.
uniform float mirrored;
// How glossy: skin a little, insole less.
uniform float gloss;
// Device px to a css px.
uniform float ratio;

in vec3 world;
in vec3 upright;
in vec3 albedo;
in float openness;
in float level;

layout (location = 0) out vec4 color;

void main() {
    vec3 view = normalize(eye - world);
    vec3 n = normalize(upright);
    bool outside = gl_FrontFacing == (mirrored < 0.5);
    if (!outside) n = -n;

    float sky = dot(n, sky_direction) * 0.5 + 0.5;
    vec3 ambient = mix(vec3(0.50, 0.46, 0.43), vec3(0.78, 0.80, 0.83), sky);
    float wrapped = clamp((dot(n, key_direction) + 0.35) / 1.35, 0.0, 1.0);
    vec3 light = ambient * 0.68 + vec3(1.0, 0.97, 0.93) * (0.60 * wrapped * wrapped);
    float crease = mix(0.45, 1.0, openness);
    float facing = clamp(dot(n, view), 0.0, 1.0);
    float rim = (1.0 - facing) * (1.0 - facing) * (1.0 - facing);
    vec3 half_way = normalize(key_direction + view);
    float glint = clamp(dot(n, half_way), 0.0, 1.0);
    glint *= glint;
    glint *= glint;
    glint *= glint;
    float shine = gloss * glint * glint;

    vec3 lit = albedo * light * crease + vec3(shine) + albedo * rim * 0.18;
    if (!outside) lit *= 0.6;

    if (iso_step > 0.0) {
        float steps = level / iso_step;
        float across = fwidth(steps);
        float to_line = abs(fract(steps + 0.5) - 0.5);
        // No lines where they would have no place of their own: on level ground, or closer together than pixels.
        float per_mm = across / max(length(fwidth(world)), 1e-6);
        float drawn = (1.0 - smoothstep(0.3, 0.9, to_line / max(across * ratio, 1e-6) - 0.2))
            * smoothstep(0.03, 0.09, per_mm) * step(across, 0.3);
        lit = mix(lit, lit * 0.42, drawn * 0.8);
    }

    float see_through = mix(opacity, min(1.0, opacity + 0.55), rim);
    color = vec4(sqrt(lit), opacity < 1.0 ? see_through : 1.0);
}
