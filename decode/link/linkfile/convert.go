package linkfile

import (
	"fmt"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// convert makes nodes of the parser's tree. A doubled key is a mistake; path is the node's.
func convert(n ast.Node, path string) (*node, *Error) {
	tk := n.GetToken()
	out := &node{line: 1, col: 1}
	if tk != nil && tk.Position != nil {
		out.line, out.col = tk.Position.Line, tk.Position.Column
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		return convertMapping(out, n.IsFlowStyle, n.Values, path)
	case *ast.MappingValueNode:
		return convertMapping(out, false, []*ast.MappingValueNode{n}, path)
	case *ast.SequenceNode:
		out.kind = sequence
		for i, v := range n.Values {
			item, err := convert(v, fmt.Sprintf("%s[%d]", path, i))
			if err != nil {
				return nil, err
			}
			out.items = append(out.items, item)
		}
		return out, nil
	case *ast.LiteralNode:
		out.quoted = true
		if n.Value != nil {
			out.text = n.Value.Value
		}
		return out, nil
	case *ast.NullNode:
		if tk.Type != token.ImplicitNullType {
			out.text = tk.Value
		}
		return out, nil
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		out.text = tk.Value
		out.quoted = tk.Type == token.SingleQuoteType || tk.Type == token.DoubleQuoteType
		return out, nil
	}
	return nil, at(out.line, out.col, path, "a value", fmt.Sprintf("YAML's %s", n.Type().YAMLName()))
}

// convertMapping fills a mapping. Block mappings stand where their first key does.
func convertMapping(out *node, flow bool, values []*ast.MappingValueNode, path string) (*node, *Error) {
	out.kind = mapping
	seen := map[string]bool{}
	for i, v := range values {
		key, err := convert(v.Key, path)
		if err != nil {
			return nil, err
		}
		if key.kind != scalar {
			return nil, at(key.line, key.col, path, "a key", key.found())
		}
		if i == 0 && !flow {
			out.line, out.col = key.line, key.col
		}
		inner := join(path, key.text)
		if seen[key.text] {
			return nil, at(key.line, key.col, inner, "each key once", "it a second time")
		}
		seen[key.text] = true
		item := &node{line: key.line, col: key.col}
		if v.Value != nil {
			if item, err = convert(v.Value, inner); err != nil {
				return nil, err
			}
		}
		out.keys, out.items = append(out.keys, key), append(out.items, item)
	}
	return out, nil
}

// join puts a key behind a path.
func join(path, key string) string {
	if r := []rune(key); len(r) > 40 {
		key = string(r[:40]) + "..."
	}
	if path == "" {
		return key
	}
	return path + "." + key
}
