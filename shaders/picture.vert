#version 330 core
// A tile of the picture: a rectangle in window pixels (top left origin), textured 0..1.
uniform vec4 rectangle;  // x, y, w, h
uniform vec2 window;     // size in pixels
out vec2 place;          // in the tile, 0..1
void main() {
    vec2 corner = vec2(gl_VertexID & 1, gl_VertexID >> 1);
    place = corner;
    vec2 at = (rectangle.xy + corner * rectangle.zw) / window;
    gl_Position = vec4(2.0 * at.x - 1.0, 1.0 - 2.0 * at.y, 0.0, 1.0);
}
