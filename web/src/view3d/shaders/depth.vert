// A mesh that hides what is behind it and is not seen itself. The same product as in surface.vert: the same depth.
uniform mat4 clip_from_world;
uniform mat4 world_from_foot;

invariant gl_Position;

in vec3 position;

void main() {
    vec4 at = world_from_foot * vec4(position, 1.0);
    gl_Position = clip_from_world * at;
}
