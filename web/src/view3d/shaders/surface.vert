// Skin and insole: foot frame to picture. A mirrored foot needs no other normals: a normal is mirrored like a point.
uniform mat4 clip_from_world;
uniform mat4 world_from_foot;
uniform vec3 base_color;

invariant gl_Position;

in vec3 position;
in vec3 normal;
// Red, green, blue of the vertex and how open it lies (255: in the open, less in a crease), 0 to 255.
in uvec4 tint;
in float value;

out vec3 world;
out vec3 upright;
out vec3 albedo;
out float openness;
out float level;

void main() {
    vec4 at = world_from_foot * vec4(position, 1.0);
    world = at.xyz;
    upright = (world_from_foot * vec4(normal, 0.0)).xyz;
    // Light is reckoned with squares, which come near enough to the screen's curve and cost little.
    vec3 shown = vec3(tint.rgb) / 255.0 * base_color;
    albedo = shown * shown;
    openness = float(tint.a) / 255.0;
    level = value;
    gl_Position = clip_from_world * at;
}
