uniform mat4 clip_from_world;
uniform vec4 box;
uniform float height;

in vec2 corner;

out vec2 at;

void main() {
    at = mix(box.xy, box.zw, corner);
    gl_Position = clip_from_world * vec4(at, height, 1.0);
}
